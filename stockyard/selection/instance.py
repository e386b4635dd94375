"""The problem in whole millimetres: what is needed rounded up, what is at hand rounded down."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from math import ceil, floor
from typing import Any

from stockyard.geometry.footprint import footprint, length_along_x
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.timber import Board, Defect, Do, Face, Job, Panel, Rule, Show, Stock, Unread, Window

Box = tuple[int, int, int, int]  # x0, y0, x1, y1 in mm of the board frame


@lru_cache(maxsize=1 << 16)
def exactly(value: float) -> Fraction:
    """The decimal a person wrote, free of binary noise: 0.1 is 1/10."""
    return Fraction(str(value))


def need(value: float) -> int:
    """What is needed, in whole mm: rounded up."""
    return ceil(exactly(value))


def supply(value: float) -> int:
    """What is at hand, in whole mm: rounded down."""
    return floor(exactly(value))


@dataclass(frozen=True, slots=True)
class Cuts:
    """The job's allowances in whole mm; planing stays exact, since thickness is not on the grid."""

    end_trim: int
    edge_joint: int
    side_trim: int
    end_loss: int
    kerf: int
    glue_clear: int
    end_clear: int
    offcut_length: int
    offcut_width: int
    face_planing: Fraction


@dataclass(frozen=True, slots=True)
class Demand:
    """One panel in whole mm, its stave counts and widths tightened to what can add up to its width.

    least, most: staves; narrowest, widest: finished stave width. Impossible when least > most.
    """

    index: int
    panel: Panel
    length: int
    rough_length: int
    width: int
    least: int
    most: int
    narrowest: int
    widest: int
    thickness: Fraction

    @property
    def possible(self) -> bool:
        """Can any number of lawful widths add up to the panel's width?"""
        return self.least <= self.most

    @property
    def both(self) -> bool:
        """Are both faces seen?"""
        return self.panel.show is Show.BOTH


@dataclass(frozen=True, slots=True)
class Flaw:
    """A defect as its footprint. boxes: what of it lies on the board; length, area: of all of it."""

    defect: Defect
    boxes: tuple[Box, ...]
    length: int
    area: int


@dataclass(frozen=True)
class Map:
    """What is drawn on a board. flaws: what a stave has to reckon with.

    blots: boxes of defects that a show face avoids, planed away or not, which an offcut is not credited for.
    """

    flaws: tuple[Flaw, ...]
    blots: tuple[Box, ...]


@dataclass(frozen=True)
class Timber:
    """One board in whole mm. drawn: tells its map when that is first asked for."""

    index: int
    board: Board
    length: int
    width: int
    drawn: Callable[[], Map]

    @cached_property
    def _map(self) -> Map:
        return self.drawn()

    @property
    def flaws(self) -> tuple[Flaw, ...]:
        """What a stave has to reckon with."""
        return self._map.flaws

    @property
    def blots(self) -> tuple[Box, ...]:
        """Boxes of what an offcut is not credited for."""
        return self._map.blots

    def with_flaws(self, flaws: tuple[Flaw, ...]) -> "Timber":
        """The same board with other flaws."""
        drawn = Map(flaws, self.blots)
        return Timber(self.index, self.board, self.length, self.width, lambda: drawn)

    @cached_property
    def value(self) -> float:
        """Book value."""
        return float(self.board.value)

    @cached_property
    def moisture(self) -> Fraction | None:
        """Newest reading, exactly as written."""
        return None if self.board.moisture_pct is None else exactly(self.board.moisture_pct)


@dataclass(frozen=True)
class Instance:
    """A stock and a job made ready for the search."""

    stock: Stock
    job: Job
    cuts: Cuts
    demands: tuple[Demand, ...]
    timbers: tuple[Timber, ...]
    wishes: Wishes = NO_WISHES

    @cached_property
    def verdicts(self) -> dict[object, Any]:
        """What has been judged before, by all that a verdict hangs on."""
        return {}

    @cached_property
    def recovery(self) -> float:
        """Share of an offcut's value that is credited."""
        return float(self.job.costs.recovery)

    @cached_property
    def handling(self) -> float:
        """What handling one board costs."""
        return float(self.job.costs.handling)

    def board_cost(self, timber: Timber) -> float:
        """What cutting the board counts for: its value, handling it, and what the wishes lay on it."""
        return timber.value + self.handling + float(self.wishes.extra.get(timber.board.id, 0))

    @cached_property
    def floor(self) -> float:
        """No plan counts for less: credits never exceed a board's value, so only favours go below 0."""
        return float(sum((min(Decimal(0), Decimal(e)) for e in self.wishes.extra.values()), Decimal(0)))

    @cached_property
    def musts(self) -> frozenset[tuple[int, int]]:
        """Pairs of a demand's and a timber's index that a plan making the panel must bring together."""
        if not self.wishes.must:
            return frozenset()
        boards = {timber.board.id: timber.index for timber in self.timbers}
        panels = {demand.panel.id: demand.index for demand in self.demands}
        return frozenset((panels[panel], boards[board]) for board, panel in self.wishes.must)

    def credit_rate(self, timber: Timber) -> float:
        """Credit for each clear square mm of an offcut of this board."""
        return self.recovery * timber.value / (timber.length * timber.width)

    def in_reach(self, timber: Timber) -> bool:
        """May the board be used at all: neither reserved nor forbidden, and within the job's moisture?"""
        rule = self.job.moisture
        if timber.board.id in self.stock.reserved or timber.board.id in self.wishes.forbid:
            return False
        if timber.moisture is None:
            return rule.unread is Unread.ALLOW
        return exactly(rule.min_pct) <= timber.moisture <= exactly(rule.max_pct)


def as_whole(stock: Stock, job: Job, wishes: Wishes = NO_WISHES) -> Instance:
    """The stock and the job on the whole-millimetre grid."""
    allowances = job.allowances
    cuts = Cuts(
        end_trim=need(allowances.end_trim_mm),
        edge_joint=need(allowances.edge_joint_mm),
        side_trim=need(allowances.side_trim_mm),
        end_loss=need(allowances.board_end_loss_mm),
        kerf=need(allowances.kerf_mm),
        glue_clear=need(allowances.glue_clear_mm),
        end_clear=need(allowances.end_clear_mm),
        offcut_length=need(allowances.offcut_length_mm),
        offcut_width=need(allowances.offcut_width_mm),
        face_planing=exactly(allowances.face_planing_mm),
    )
    return Instance(
        stock=stock,
        job=job,
        cuts=cuts,
        demands=tuple(_demand(index, panel, cuts) for index, panel in enumerate(job.panels)),
        timbers=tuple(_timber(index, board, job, cuts) for index, board in enumerate(stock.boards)),
        wishes=wishes,
    )


def _demand(index: int, panel: Panel, cuts: Cuts) -> Demand:
    width, length = need(panel.width_mm), need(panel.length_mm)
    narrowest, widest = max(1, need(panel.stave_width_min_mm)), supply(panel.stave_width_max_mm)
    counts = [
        n for n in range(panel.staves_min, panel.staves_max + 1) if n * narrowest <= width <= n * widest
    ]
    least, most = (counts[0], counts[-1]) if counts else (1, 0)
    if counts:
        # The others together can only take so much, and need so much: that bounds each one.
        narrowest, widest = (
            max(narrowest, width - (most - 1) * widest),
            min(widest, width - (least - 1) * narrowest),
        )
    return Demand(
        index=index,
        panel=panel,
        length=length,
        rough_length=length + 2 * cuts.end_trim,
        width=width,
        least=least,
        most=most,
        narrowest=narrowest,
        widest=widest,
        thickness=exactly(panel.thickness_mm),
    )


def _timber(index: int, board: Board, job: Job, cuts: Cuts) -> Timber:
    length, width = supply(board.length_mm), supply(board.width_mm)
    return Timber(index, board, length, width, lambda: _map(board, length, width, job, cuts))


def _map(board: Board, length: int, width: int, job: Job, cuts: Cuts) -> Map:
    flaws: list[Flaw] = []
    blots: list[Box] = []
    for defect in board.defects:
        whole = footprint(defect.outline)
        boxes = _clipped(whole, length, width)
        if not boxes:
            continue
        flaw = Flaw(defect, boxes, length_along_x(whole), sum(box.area_mm2 for box in whole))
        rule = job.rules.on_show(defect.kind)
        if rule.do is Do.AVOID or (rule.do is Do.TREAT and oversize(rule, flaw)):
            blots += boxes
        planed = (
            defect.face is not Face.BOTH
            and defect.depth_mm is not None
            and exactly(defect.depth_mm) <= cuts.face_planing
        )
        if not planed:
            flaws.append(flaw)
    return Map(tuple(flaws), tuple(blots))


def oversize(rule: Rule, flaw: Flaw) -> bool:
    """Is the flaw beyond the largest size that the rule would treat?"""
    too_long = rule.max_length_mm is not None and flaw.length > exactly(rule.max_length_mm)
    too_large = rule.max_area_mm2 is not None and flaw.area > exactly(rule.max_area_mm2)
    return too_long or too_large


def _clipped(boxes: Iterable[Window], length: int, width: int) -> tuple[Box, ...]:
    """What of the boxes lies on the board."""
    found = ((max(b.x0, 0), max(b.y0, 0), min(b.x1, length), min(b.y1, width)) for b in boxes)
    return tuple(box for box in found if box[0] < box[2] and box[1] < box[3])
