"""Which boards suit a panel, ranked by what using each would add to the best plan.

What a board adds is the cost of the best plan that has a stave of it in the panel, less that of the best
plan without the wish. It is first bounded from above by making only this panel again around the board, the
rest of the plan as it is; then, cheapest first while time allows, the whole job is searched with the board
wished for.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from time import monotonic

from stockyard.selection.answers.cases import case_of
from stockyard.selection.answers.nearmiss import Remedy, remedies
from stockyard.selection.answers.obstacles import Obstacle, obstacles
from stockyard.selection.answers.pricing import at_true_cost
from stockyard.selection.search import select
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.timber import Job, Plan, Status, Stock

FIRST_SHARE = 0.45  # of the time goes to the best plan
ABOVE_SHARE = 0.7  # of what is left then, to bounds from above for every board


@dataclass(frozen=True, slots=True)
class Suit:
    """A board that can give a stave of the panel.

    adds: what the best plan found that uses it in the panel costs more than the best; None while none was
    found. at_least: no plan that uses it adds less. proved: are the two the same, and the best plan proved
    best? plan: the one that uses it.
    """

    board: str
    adds: Decimal | None
    at_least: Decimal
    proved: bool
    plan: Plan | None


@dataclass(frozen=True, slots=True)
class Unsuited:
    """A board that cannot, why not, and the least that would change that."""

    board: str
    obstacles: tuple[Obstacle, ...]
    remedies: tuple[Remedy, ...]


@dataclass(frozen=True, slots=True)
class Suits:
    """The answer for one panel. suited: what adds least first; boards never asked of come last.

    best: the cheapest plan found. unsuited: the nearest to suiting first.
    """

    panel: str
    best: Plan
    suited: tuple[Suit, ...]
    unsuited: tuple[Unsuited, ...]


def suits_of(
    stock: Stock,
    job: Job,
    panel_id: str,
    *,
    seconds: float = 20.0,
    wishes: Wishes = NO_WISHES,
    on_board: Callable[[str], bool | None] | None = None,
) -> Suits:
    """What using each board in a panel of the job would add to the best plan.

    panel_id: has to be one of the job's. seconds: to search at most. on_board: told of each board as it is
    looked at; True stops the search.
    """
    began = monotonic()
    best = select(stock, job, seconds=max(0.5, FIRST_SHARE * seconds), wishes=wishes)
    if not all(made.made for made in best.panels):  # there may be better: without it nothing adds anything
        best = select(stock, job, seconds=max(0.5, FIRST_SHARE * seconds), wishes=wishes, start=best)
    suited, unsuited = [], []
    for board in stock.boards:
        case = case_of(stock, job, board.id, panel_id)
        found = obstacles(case)
        if not found and board.id not in wishes.forbid:
            suited.append(board.id)
        elif found:
            unsuited.append(Unsuited(board.id, found, remedies(case)))
    search = _Search(stock, job, panel_id, wishes, best, began + seconds, on_board)
    plans = search.plans(suited)
    best = min([best, *(p for p in plans.values() if _made(p) == _made(best))], key=lambda plan: plan.cost)
    ranked = [_suit(name, plans.get(name), best, search.floors.get(name)) for name in suited]
    ranked.sort(key=lambda each: (each.adds is None, each.adds or Decimal(0), each.board))
    unsuited.sort(key=_distance)
    return Suits(panel_id, best, tuple(ranked), tuple(unsuited))


def _suit(name: str, plan: Plan | None, best: Plan, floor: Decimal | None) -> Suit:
    least = max(Decimal(0), (floor if floor is not None else best.bound) - best.cost)
    if plan is None or _made(plan) != _made(best):
        return Suit(name, None, least, proved=False, plan=None)
    adds = plan.cost - best.cost
    proved = best.status is Status.OPTIMAL and adds - least < Decimal("0.00001")
    return Suit(name, adds, least, proved, plan)


def _distance(one: Unsuited) -> tuple[bool, float, int, str]:
    sizes = [remedy.size for remedy in one.remedies]
    return not sizes, min(sizes, default=0.0), len(one.obstacles), one.board


def _made(plan: Plan) -> tuple[str, ...]:
    return tuple(made.id for made in plan.panels if made.made)


def _uses(plan: Plan, panel_id: str) -> set[str]:
    return {stave.board for made in plan.panels if made.id == panel_id for stave in made.staves}


@dataclass
class _Search:
    """Plans with each board in the panel, and the floors of what they can cost."""

    stock: Stock
    job: Job
    panel_id: str
    wishes: Wishes
    best: Plan
    deadline: float
    on_board: Callable[[str], bool | None] | None

    def __post_init__(self) -> None:
        self.floors: dict[str, Decimal] = {}

    def plans(self, names: Sequence[str]) -> dict[str, Plan]:
        """The cheapest plan found with each of the boards in the panel."""
        found = dict.fromkeys(_uses(self.best, self.panel_id), self.best)
        self.floors |= dict.fromkeys(found, self.best.bound)
        others = [name for name in names if name not in found]
        until = monotonic() + ABOVE_SHARE * (self.deadline - monotonic())
        for place, name in enumerate(others):
            if self._stop(name, until):
                break
            plan = self._beside_the_rest(name, (until - monotonic()) / (len(others) - place))
            if plan is not None:
                found[name] = plan
        order = sorted(others, key=lambda name: found[name].cost if name in found else Decimal("Infinity"))
        for place, name in enumerate(order):
            if self._stop(name, self.deadline):
                break
            plan = self._anew(name, (self.deadline - monotonic()) / (len(order) - place))
            if plan is not None and (name not in found or plan.cost < found[name].cost):
                found[name] = plan
        return found

    def _stop(self, name: str, deadline: float) -> bool:
        told = bool(self.on_board and self.on_board(name))
        return told or monotonic() >= deadline - 0.05

    def _wishing(self, name: str) -> Wishes:
        return replace(self.wishes, must=self.wishes.must | {(name, self.panel_id)})

    def _anew(self, name: str, seconds: float) -> Plan | None:
        plan = select(self.stock, self.job, seconds=max(0.3, seconds), wishes=self._wishing(name))
        if _made(plan) != _made(self.best) or name not in _uses(plan, self.panel_id):
            return None
        self.floors[name] = max(plan.bound, self.best.bound) if not self.wishes.extra else self.best.bound
        return plan

    def _beside_the_rest(self, name: str, seconds: float) -> Plan | None:
        """The best plan's other panels as they are, this one made again around the board."""
        ours = _uses(self.best, self.panel_id)
        rest = {stave.board for made in self.best.panels if made.id != self.panel_id for stave in made.staves}
        if ours & rest or name in rest or not ours:
            return None  # its boards serve other panels too, so it cannot be taken out alone
        some = replace(self.stock, boards=tuple(b for b in self.stock.boards if b.id not in rest))
        panel = next(each for each in self.job.panels if each.id == self.panel_id)
        wishes = replace(
            self._wishing(name),
            must=frozenset(pair for pair in self._wishing(name).must if pair[1] == self.panel_id),
        )
        part = select(
            some, replace(self.job, panels=(panel,)), seconds=max(0.3, min(seconds, 2.0)), wishes=wishes
        )
        if not part.panels[0].made or name not in _uses(part, self.panel_id):
            return None
        order = {board.id: place for place, board in enumerate(self.stock.boards)}
        cuts = [*(cut for cut in self.best.boards if cut.id not in ours), *part.boards]
        joined = replace(
            self.best,
            panels=tuple(part.panels[0] if m.id == self.panel_id else m for m in self.best.panels),
            boards=tuple(sorted(cuts, key=lambda cut: order[cut.id])),
            status=Status.FEASIBLE,
        )
        return at_true_cost(joined, self.stock, self.job, self.best.bound)
