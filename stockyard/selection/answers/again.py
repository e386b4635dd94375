"""The plan again, around a stave that was spoiled or a board that is no good, changing as little as possible.

Three ways are tried, the least disturbing first. Only what was lost is replaced: every other stave stays as
it is cut or is to be cut, and only the panels that lost one are laid again. If that cannot be, untouched
boards stay but may be cut otherwise. If that cannot be either, boards are exchanged too, as few as will do.
Sound staves that are cut already stay in their panels in all three.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from time import monotonic

from stockyard.errors import BadInput, Fault
from stockyard.selection.answers.blanks import Blank, blank_of, remnants_of
from stockyard.selection.answers.cases import Case
from stockyard.selection.answers.pricing import PARTS, at_true_cost
from stockyard.selection.check import cost_of
from stockyard.selection.search import select
from stockyard.selection.wishes import Wishes
from stockyard.timber import CostParts, Job, Panel, Plan, Stave, Stock

StavePlace = tuple[str, int]
"""A stave: its panel's id and its place in it, 0 first."""


class Reach(StrEnum):
    """How far the change had to go."""

    REPLACED = "only what was lost is replaced"
    RECUT = "untouched boards stay, cut otherwise"
    EXCHANGED = "other boards are exchanged too"


@dataclass(frozen=True, slots=True)
class Again:
    """A plan around what was lost.

    plan: what is to be cut now, sound staves included as blanks; stock: what it was made from. kept: sound
    staves, as blanks, that stay in their panels. new: staves of the plan that are to be cut anew, by place in
    it. moved: staves not lost that are to be cut from elsewhere than planned. added, dropped: boards that it
    cuts and the old plan did not, and the other way round. adds: what it costs beyond the old plan, what
    was spoiled included. parts: that, by part of the cost.
    """

    reach: Reach
    plan: Plan
    stock: Stock
    kept: tuple[Blank, ...]
    new: tuple[StavePlace, ...]
    moved: int
    added: tuple[str, ...]
    dropped: tuple[str, ...]
    adds: Decimal
    parts: dict[str, Decimal]


def plan_again(
    plan: Plan,
    stock: Stock,
    *,
    lost: Collection[StavePlace] = (),
    gone: Collection[str] = (),
    cut: Collection[str] = (),
    free: Collection[str] | None = None,
    seconds: float = 15.0,
    reaches: Collection[Reach] = tuple(Reach),
) -> Again | None:
    """The plan around lost staves and boards; None where no way to make its panels was found.

    stock: with the plan's boards as it saw them. lost: staves spoiled; their boards count as cut. gone:
    boards of the plan, not cut yet, that cannot be used and keep what they are worth. cut: boards cut
    already, whose sound staves and offcuts are there. free: ids of other boards that may be used, None for
    all of the stock. reaches: which of the three ways to try.
    Raises BadInput for a stave or board that the plan does not have, or where nothing was lost.
    """
    _refuse_unknown(plan, lost, gone, cut)
    touched = frozenset(cut) | {_stave(plan, place).board for place in lost}
    state = _State(plan, stock, frozenset(lost), frozenset(gone), touched, free)
    for reach, attempt in (
        (Reach.REPLACED, state.replaced),
        (Reach.RECUT, state.recut),
        (Reach.EXCHANGED, state.exchanged),
    ):
        if reach in reaches:
            found = attempt(seconds / len(reaches))
            if found is not None:
                return found
    return None


def _stave(plan: Plan, place: StavePlace) -> Stave:
    return next(made for made in plan.panels if made.id == place[0]).staves[place[1]]


def _refuse_unknown(
    plan: Plan, lost: Collection[StavePlace], gone: Collection[str], cut: Collection[str]
) -> None:
    places = {(made.id, place) for made in plan.panels for place in range(len(made.staves))}
    boards = {each.id for each in plan.boards}
    faults = [
        Fault("spoiled", "a stave of the plan", f"stave {place + 1} of {panel}")
        for panel, place in sorted(set(lost) - places)
    ]
    faults += [Fault("without", "a board of the plan", name) for name in sorted(set(gone) - boards)]
    faults += [Fault("cut", "a board of the plan", name) for name in sorted(set(cut) - boards)]
    if not lost and not gone:
        faults.append(Fault("spoiled", "a stave or a board that was lost"))
    if faults:
        raise BadInput("The plan cannot be made again so.", faults)


@dataclass(frozen=True)
class _State:
    """Where a plan stands when something was lost. touched: boards cut already."""

    plan: Plan
    stock: Stock
    lost: frozenset[StavePlace]
    gone: frozenset[str]
    touched: frozenset[str]
    free: Collection[str] | None

    @property
    def job(self) -> Job:
        return self.plan.job

    def _is_lost(self, panel: str, place: int, stave: Stave) -> bool:
        return (panel, place) in self.lost or stave.board in self.gone

    def _kept(self, *, cut_only: bool, panels: Collection[str]) -> list[Blank]:
        """Sound staves of these panels as blanks: all of them, or just those whose boards are cut."""
        by_id = {board.id: board for board in self.stock.boards}
        return [
            blank_of(stave, place, by_id[stave.board], self.job, self._panel(made.id))
            for made in self.plan.panels
            if made.id in panels
            for place, stave in enumerate(made.staves)
            if not self._is_lost(made.id, place, stave) and (not cut_only or stave.board in self.touched)
        ]

    def _panel(self, name: str) -> Panel:
        return next(panel for panel in self.job.panels if panel.id == name)

    def _stock(
        self, blanks: Sequence[Blank], *, planned: Collection[str], remnants: Collection[str]
    ) -> Stock:
        """Blanks, offcuts of cut boards, and the other boards that may be used."""
        by_id = {board.id: board for board in self.stock.boards}
        ours = {each.id for each in self.plan.boards}
        rest = [
            board
            for board in self.stock.boards
            if (board.id in planned if board.id in ours else self.free is None or board.id in self.free)
        ]
        offcuts = remnants_of(self.plan, by_id, frozenset(remnants) - self.gone)
        held = {name: why for name, why in self.stock.reserved.items() if name not in ours}
        return replace(
            self.stock, boards=(*(blank.board for blank in blanks), *offcuts, *rest), reserved=held
        )

    def replaced(self, seconds: float) -> Again | None:
        """Every stave that was not lost as it is; only panels that lost one are laid again."""
        hit = {
            made.id
            for made in self.plan.panels
            for place, stave in enumerate(made.staves)
            if self._is_lost(made.id, place, stave)
        }
        blanks = self._kept(cut_only=False, panels=hit)
        ours = {each.id for each in self.plan.boards}
        stock = self._stock(blanks, planned=(), remnants=ours)
        wishes = Wishes(extra=self._few(stock, ours))
        found = self._from_one(stock, blanks, hit, wishes, seconds / 3)
        if found is None and len(hit) > 1:
            found = self._one_by_one(stock, blanks, hit, wishes, seconds / 3)
        if found is None:
            found = self._made(stock, blanks, hit, wishes, seconds / 3)
        if found is None:
            return None
        plan, part = found
        before = cost_of(
            replace(
                self.plan,
                panels=tuple(made for made in self.plan.panels if made.id in hit),
                boards=tuple(each for each in self.plan.boards if each.id in self.gone),
            ),
            self.stock,
        )
        parts = {name: getattr(part, name) - getattr(before, name) for name in PARTS}
        return self._told(Reach.REPLACED, plan, stock, blanks, parts)

    def _from_one(
        self, stock: Stock, blanks: Sequence[Blank], hit: Collection[str], wishes: Wishes, seconds: float
    ) -> tuple[Plan, CostParts] | None:
        """What was lost from one other board or offcut, the cheapest way: the least there is to look for."""
        deadline = monotonic() + seconds
        panels = [self._panel(name) for name in sorted(hit)]
        names = {blank.board.id for blank in blanks}
        best: tuple[Decimal, tuple[Plan, CostParts]] | None = None
        for board in sorted(stock.boards, key=lambda each: (each.id in wishes.extra, each.value)):
            left = deadline - monotonic()
            done = best is not None and board.id in wishes.extra and best[0] < wishes.extra[board.id]
            if left <= 0 or done:  # what an offcut mends needs no other board
                break
            if board.id in names or board.id in stock.reserved:
                continue
            if not any(Case(board, self.job, panel).suits() for panel in panels):
                continue
            some = replace(stock, boards=(*(blank.board for blank in blanks), board))
            found = self._made(some, blanks, hit, wishes, left)
            if found is not None:
                counted = found[0].cost + wishes.of_plan(cut.id for cut in found[0].boards)
                if best is None or counted < best[0]:
                    best = counted, found
        return None if best is None else best[1]

    def _one_by_one(
        self, stock: Stock, blanks: Sequence[Blank], hit: Collection[str], wishes: Wishes, seconds: float
    ) -> tuple[Plan, CostParts] | None:
        """Each panel's loss from one board or offcut of its own, one panel after another."""
        names = {blank.board.id for blank in blanks}
        used: set[str] = set()
        parts: list[Plan] = []
        for panel in hit:
            theirs = [blank for blank in blanks if blank.panel == panel]
            left = [board for board in stock.boards if board.id not in names | used]
            some = replace(stock, boards=(*(blank.board for blank in theirs), *left))
            found = self._from_one(some, theirs, {panel}, wishes, seconds / len(hit))
            if found is None:
                return None
            parts.append(found[0])
            used |= {cut.id for cut in found[0].boards}
        made = {each.id: each for part in parts for each in part.panels}
        cuts = {cut.id: cut for part in parts for cut in part.boards}
        job = replace(self.job, panels=tuple(panel for panel in self.job.panels if panel.id in hit))
        joined = replace(
            parts[0],
            panels=tuple(made[panel.id] for panel in job.panels),
            boards=tuple(cuts[board.id] for board in stock.boards if board.id in cuts),
            rejected=(),
        )
        plan = at_true_cost(joined, stock, job)
        handling = plan.cost_parts.handling - self.job.costs.handling * len(blanks)
        return plan, replace(plan.cost_parts, handling=handling)

    def recut(self, seconds: float) -> Again | None:
        """Boards not yet cut stay in the panels they serve, wherever on them the staves are cut now."""
        pairs = frozenset(
            (stave.board, made.id)
            for made in self.plan.panels
            for stave in made.staves
            if stave.board not in self.touched | self.gone
        )
        return self._whole(Reach.RECUT, pairs, seconds)

    def exchanged(self, seconds: float) -> Again | None:
        """Any boards, those of the plan by far preferred."""
        return self._whole(Reach.EXCHANGED, frozenset(), seconds)

    def _whole(self, reach: Reach, pairs: frozenset[tuple[str, str]], seconds: float) -> Again | None:
        made = {each.id for each in self.plan.panels if each.made}
        blanks = self._kept(cut_only=True, panels=made)
        ours = {each.id for each in self.plan.boards}
        stock = self._stock(blanks, planned=ours - self.touched - self.gone, remnants=self.touched)
        wishes = Wishes(extra=self._few(stock, ours), must=pairs)
        found = self._made(stock, blanks, made, wishes, seconds)
        if found is None:
            return None
        plan, now = found
        spent = cost_of(
            replace(
                self.plan,
                panels=(),
                boards=tuple(each for each in self.plan.boards if each.id in self.touched),
            ),
            self.stock,
        )
        parts = {
            name: getattr(now, name) + getattr(spent, name) - getattr(self.plan.cost_parts, name)
            for name in PARTS
        }
        return self._told(reach, plan, stock, blanks, parts)

    def _few(self, stock: Stock, ours: Collection[str]) -> dict[str, Decimal]:
        """A price on every board that the plan did not cut, above all it could save."""
        price = abs(self.plan.cost) + self.job.costs.handling
        return {
            board.id: price
            for board in stock.boards
            if board.id not in ours and board.id.partition(", ")[0] not in ours
        }

    def _made(
        self, stock: Stock, blanks: Sequence[Blank], panels: Collection[str], wishes: Wishes, seconds: float
    ) -> tuple[Plan, CostParts] | None:
        job = replace(self.job, panels=tuple(panel for panel in self.job.panels if panel.id in panels))
        must = wishes.must | {(blank.board.id, blank.panel) for blank in blanks}
        plan = select(stock, job, seconds=max(0.5, seconds), wishes=replace(wishes, must=must))
        if not all(made.made for made in plan.panels):
            return None
        parts = replace(
            plan.cost_parts, handling=plan.cost_parts.handling - self.job.costs.handling * len(blanks)
        )
        return plan, parts

    def _told(
        self, reach: Reach, plan: Plan, stock: Stock, blanks: Sequence[Blank], parts: dict[str, Decimal]
    ) -> Again:
        names = {blank.board.id for blank in blanks}
        as_planned = {
            (made.id, stave.board, stave.rough) for made in self.plan.panels for stave in made.staves
        }
        new = [
            (made.id, place)
            for made in plan.panels
            for place, stave in enumerate(made.staves)
            if stave.board not in names and (made.id, stave.board, stave.rough) not in as_planned
        ]
        missing = sum(
            self._is_lost(made.id, place, stave)
            for made in self.plan.panels
            for place, stave in enumerate(made.staves)
        )
        before = {each.id for each in self.plan.boards}
        now = {each.id for each in plan.boards} - names
        stay = before - self.gone - self.touched
        return Again(
            reach=reach,
            plan=plan,
            stock=stock,
            kept=tuple(blanks),
            new=tuple(new),
            moved=max(0, len(new) - missing),
            added=tuple(sorted(now - before)),
            dropped=tuple(sorted(stay - now)) if reach is not Reach.REPLACED else (),
            adds=sum(parts.values(), Decimal(0)),
            parts=parts,
        )
