"""How likely a plan survives what machining brings to light, and which spare board to put aside.

Each stave may be lost, with a chance of its own, independently of the others. Every way of losing staves is a
case with a known probability: none, each one, each two ..., the likeliest first. A case is survived when the
panels that lost a stave can be made from their sound staves, the plan's offcuts and the spare; whether they
can is found by searching. Cases not looked at leave a range, which is told.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import combinations
from time import monotonic

from stockyard.selection.answers.again import Again, Reach, StavePlace, plan_again
from stockyard.selection.answers.blanks import blank_of, remnants_of
from stockyard.selection.answers.cases import Case
from stockyard.selection.answers.feasible import Answer, Feasibility
from stockyard.selection.search import select
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.timber import Board, Plan, Stock

ENOUGH = 0.995  # of all probability is looked at, time allowing
SPARES_TRIED = 8


@dataclass(frozen=True, slots=True)
class Range:
    """A probability known to lie between low and high."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Spare:
    """A board put aside. chance: that the plan survives with it. covers: lone losses that only it mends."""

    board: str
    value: Decimal
    chance: Range
    covers: tuple[StavePlace, ...]


@dataclass(frozen=True, slots=True)
class Loss:
    """One stave that may be lost. chance: that it is.

    adds: what mending that alone adds to the plan's cost, from all of the rack; None where no way was found.
    tried: False where time ran out before it was looked at.
    """

    panel: str
    place: int
    board: str
    chance: float
    adds: Decimal | None
    tried: bool


@dataclass(frozen=True, slots=True)
class Steadier:
    """A plan with a lower expected cost."""

    plan: Plan
    expected: Decimal


@dataclass(frozen=True, slots=True)
class Survival:
    """What machining may do to a plan.

    unharmed: chance that no stave is lost. alone: that it survives with its own offcuts only. spare: the best
    board to put aside, None where none helps. losses: by panel and place. expected: the plan's cost and what
    mending one loss at a time adds on average, a loss that cannot be mended counted at `shortfall` and one
    not looked at as the others are on average.
    steadier: another plan that costs less so, None where none was found.
    """

    unharmed: float
    alone: Range
    spare: Spare | None
    losses: tuple[Loss, ...]
    expected: Decimal
    shortfall: Decimal
    steadier: Steadier | None


def survival_of(
    plan: Plan,
    stock: Stock,
    chances: Mapping[str, float],
    *,
    shortfall: Decimal | None = None,
    seconds: float = 20.0,
    wishes: Wishes = NO_WISHES,
) -> Survival:
    """How a plan stands up to losses. chances: by board, that a stave cut from it is lost, 0 to 1.

    shortfall: what a loss that cannot be mended costs; the whole plan's cost unless given.
    """
    began = monotonic()
    worst = abs(plan.cost) if shortfall is None else shortfall
    losing = _Losing(plan, stock, chances, began + 0.4 * seconds)
    alone = losing.chance(())
    spare = losing.best_spare(alone)
    losses = _losses(plan, stock, chances, began + 0.7 * seconds)
    expected = _expected(plan, losses, worst)
    steadier = _steadier(plan, stock, chances, losses, expected, worst, began + seconds, wishes)
    return Survival(losing.probability(()), alone, spare, losses, expected, worst, steadier)


@dataclass
class _Losing:
    """The ways of losing staves, and whether each can be mended from offcuts and spares."""

    plan: Plan
    stock: Stock
    chances: Mapping[str, float]
    deadline: float
    _known: dict[tuple[frozenset[StavePlace], tuple[str, ...]], bool | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.boards = {board.id: board for board in self.stock.boards}
        self.staves = [
            ((made.id, place), self.chances.get(stave.board, 0.0))
            for made in self.plan.panels
            for place, stave in enumerate(made.staves)
        ]

    def probability(self, lost: Collection[StavePlace]) -> float:
        """That just these staves are lost."""
        found = 1.0
        for place, chance in self.staves:
            found *= chance if place in lost else 1 - chance
        return found

    def cases(self) -> Iterator[tuple[StavePlace, ...]]:
        """Every way of losing staves, fewer first, likelier first among as many."""
        places = [place for place, chance in self.staves if chance > 0]
        for count in range(len(places) + 1):
            yield from sorted(combinations(places, count), key=lambda lost: -self.probability(lost))

    def chance(self, spares: tuple[str, ...], enough: float = ENOUGH) -> Range:
        """That the plan survives with these boards put aside."""
        good = bad = 0.0
        for lost in self.cases():
            if good + bad >= enough or monotonic() > self.deadline:
                break
            mended = self.mended(frozenset(lost), spares)
            share = self.probability(lost)
            if mended is not None:
                good, bad = good + share * mended, bad + share * (not mended)
        return Range(good, max(good, 1.0 - bad))

    def mended(self, lost: frozenset[StavePlace], spares: tuple[str, ...]) -> bool | None:
        """Can the panels that lost these be made again? None when that was not found out."""
        if not lost:
            return True
        key = lost, spares
        if key not in self._known:
            self._known[key] = self._from_less(lost, spares)
            if self._known[key] is None:
                self._known[key] = self._searched(lost, spares)
        return self._known[key]

    def _from_less(self, lost: frozenset[StavePlace], spares: tuple[str, ...]) -> bool | None:
        """What is known already: more spares mend no less, and more losses are no easier."""
        if spares and self._known.get((lost, ())):
            return True
        if any(self._known.get((lost - {one}, spares)) is False for one in lost):
            return False
        return None

    def _searched(self, lost: frozenset[StavePlace], spares: tuple[str, ...]) -> bool | None:
        job, hit = self.plan.job, {panel for panel, _ in lost}
        panels = {panel.id: panel for panel in job.panels}
        blanks = [
            blank_of(stave, place, self.boards[stave.board], job, panels[made.id])
            for made in self.plan.panels
            if made.id in hit
            for place, stave in enumerate(made.staves)
            if (made.id, place) not in lost
        ]
        cut = frozenset(each.id for each in self.plan.boards)
        boards = (
            *(blank.board for blank in blanks),
            *remnants_of(self.plan, self.boards, cut),
            *(self.boards[name] for name in spares),
        )
        asking = Feasibility(replace(self.stock, boards=boards, reserved={}), self.deadline, each=2.0)
        must = Wishes(must=frozenset((blank.board.id, blank.panel) for blank in blanks))
        wanted = replace(job, panels=tuple(panel for panel in job.panels if panel.id in hit))
        answer = asking.ask(wanted, must).answer
        return None if answer is Answer.UNKNOWN else answer is Answer.YES

    def best_spare(self, alone: Range) -> Spare | None:
        """The free board with which the plan survives most likely; of equals, the one worth least."""
        cut = {each.id for each in self.plan.boards}
        free = [b for b in self.stock.boards if b.id not in cut and b.id not in self.stock.reserved]
        open_losses = [
            (place, chance)
            for place, chance in self.staves
            if chance > 0 and self.mended(frozenset([place]), ()) is not True
        ]
        ranked = sorted(
            ((self._could_cover(board, open_losses), -board.value, board) for board in free),
            key=lambda each: each[:2],
            reverse=True,
        )
        best: Spare | None = None
        for could, _, board in ranked[:SPARES_TRIED]:
            if could <= 0 or monotonic() > self.deadline:
                break
            covers = tuple(place for place, _ in open_losses if self.mended(frozenset([place]), (board.id,)))
            chance = self.chance((board.id,))
            if covers and chance.low > alone.low and (best is None or chance.low > best.chance.low + 1e-9):
                best = Spare(board.id, board.value, chance, covers)
        return best

    def _could_cover(self, board: Board, losses: Sequence[tuple[StavePlace, float]]) -> float:
        panels = {panel.id: panel for panel in self.plan.job.panels}
        suits = {
            name: Case(board, self.plan.job, panels[name]).suits()
            for name in {place[0] for place, _ in losses}
        }
        return sum(chance for place, chance in losses if suits[place[0]])


def _losses(plan: Plan, stock: Stock, chances: Mapping[str, float], deadline: float) -> tuple[Loss, ...]:
    cut = [each.id for each in plan.boards]
    staves = [(made.id, place, stave) for made in plan.panels for place, stave in enumerate(made.staves)]
    found: dict[StavePlace, Loss] = {}
    for done, (panel, place, stave) in enumerate(sorted(staves, key=lambda each: each[1])):
        chance = chances.get(stave.board, 0.0)
        left = deadline - monotonic()
        tried = chance > 0 and left > 0.05
        mended: Again | None = None
        if tried:
            mended = plan_again(
                plan,
                stock,
                lost=[(panel, place)],
                cut=cut,
                seconds=max(0.5, left / (len(staves) - done)),
                reaches=(Reach.REPLACED,),
            )
        adds = None if mended is None else mended.adds
        found[panel, place] = Loss(panel, place, stave.board, chance, adds, tried)
    return tuple(found[panel, place] for panel, place, _ in staves)


def _expected(plan: Plan, losses: Sequence[Loss], shortfall: Decimal) -> Decimal:
    told = [shortfall if loss.adds is None else loss.adds for loss in losses if loss.tried]
    mean = sum(told, Decimal(0)) / len(told) if told else shortfall
    return plan.cost + sum(
        (
            Decimal(str(loss.chance))
            * (mean if not loss.tried else shortfall if loss.adds is None else loss.adds)
            for loss in losses
        ),
        Decimal(0),
    )


def _steadier(
    plan: Plan,
    stock: Stock,
    chances: Mapping[str, float],
    losses: Sequence[Loss],
    expected: Decimal,
    shortfall: Decimal,
    deadline: float,
    wishes: Wishes,
) -> Steadier | None:
    """A plan sought with what a lost stave adds laid on the boards likelier to lose one."""
    left = deadline - monotonic()
    told = [loss.adds for loss in losses if loss.adds is not None]
    if left < 1.0 or not losses:
        return None
    mean = sum(told, Decimal(0)) / len(told) if told else shortfall
    each = len(losses) / max(1, len(plan.boards))
    extra = dict(wishes.extra)
    for board in stock.boards:
        more = mean * Decimal(str(round(chances.get(board.id, 0.0) * each, 9)))
        extra[board.id] = extra.get(board.id, Decimal(0)) + more
    other = select(stock, plan.job, seconds=left / 2, wishes=replace(wishes, extra=extra))
    if [m.made for m in other.panels] != [m.made for m in plan.panels]:
        return None
    if {c.id for c in other.boards} == {c.id for c in plan.boards}:
        return None
    theirs = _expected(other, _losses(other, stock, chances, deadline), shortfall)
    return Steadier(other, theirs) if theirs < expected else None
