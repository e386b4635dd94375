"""Where across a board a stave may lie, once its place along the board is given.

A *cell* says that the stave's finished low edge may stand anywhere in one range and its high edge anywhere
in another, at one cost. Shrinking a window never meets more flaws, so a cell is named by the widest window
it allows; a weakening flaw inside it holds the glued edges off by the clear strip. All lawful windows are
covered by such cells, each at its true cost by the cell of its own flaws, so nothing is lost.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil

import numpy as np
from numpy.typing import NDArray

from stockyard.selection.instance import Box, Cuts, Demand, Instance, Timber, exactly
from stockyard.selection.judging import faces_differ, judge
from stockyard.timber import Face


@dataclass(frozen=True, slots=True, order=True)
class Role:
    """Which edges of a stave, in the board frame, are outer edges of its panel."""

    low_outer: bool
    high_outer: bool

    @property
    def outer_edges(self) -> int:
        """0 for a middle stave, 1 for the first or last, 2 for one that is a panel alone."""
        return self.low_outer + self.high_outer


MIDDLE = Role(False, False)
ENDS = (Role(True, False), Role(False, True))
ALONE = Role(True, True)


def roles_of(demand: Demand) -> tuple[Role, ...]:
    """The roles a stave of this panel can have."""
    roles: tuple[Role, ...] = ()
    if demand.least <= 1:
        roles += (ALONE,)
    if demand.most >= 2:
        roles += ENDS
    if demand.most >= 3:
        roles += (MIDDLE,)
    return roles


@dataclass(frozen=True, slots=True)
class Cell:
    """Lawful edges of a stave at one place along the board: low .. low_last and high_first .. high.

    Finished edges in mm of the board frame; at least `narrowest` and at most `widest` apart.
    """

    low: int
    low_last: int
    high_first: int
    high: int
    cost: float
    narrowest: int
    widest: int


Span = tuple[int, int]  # across the board
Priced = tuple[Span, float, int]  # a box's span, what its flaw costs, the flaw's number
Met = tuple[tuple[Span, ...], tuple[Priced, ...], tuple[Priced, ...]]  # avoided, accepted, weakening


@dataclass(frozen=True)
class FlawsAlong:
    """What flaws a stave of one panel meets, showing one face, by its place along the board.

    Boxes with the cost and the number of their flaw: accepted ones, weakening ones, avoided ones.
    """

    soft: tuple[tuple[Box, float, int], ...]
    weak: tuple[tuple[Box, float, int], ...]
    hard: tuple[Box, ...]
    first_start: int
    last_start: int
    length: int
    end_trim: int
    end_clear: int

    @cached_property
    def starts(self) -> list[int]:
        """The rough starts from which other boxes may be met."""
        changes = {self.first_start}
        for box in [*self.hard, *(box for box, _, _ in self.soft), *(box for box, _, _ in self.weak)]:
            changes |= {box[2] - self.end_trim, box[0] - self.length + 1 - self.end_trim}
        for box, _, _ in self.weak:
            changes |= {
                box[0] - self.end_clear + 1 - self.end_trim,
                box[2] - self.length + self.end_clear - self.end_trim,
            }
        return sorted(x for x in changes if self.first_start <= x <= self.last_start)

    def met_at(self, start: int) -> "Met":
        """What a stave meets that starts here."""
        x0, x1 = start + self.end_trim, start + self.end_trim + self.length
        avoided = {(b[1], b[3]) for b in self.hard if b[0] < x1 and b[2] > x0}
        weakening = set()
        for box, cost, flaw in self.weak:
            if box[0] < x1 and box[2] > x0:
                if self.end_clear and (box[0] < x0 + self.end_clear or box[2] > x1 - self.end_clear):
                    avoided.add((box[1], box[3]))
                else:
                    weakening.add(((box[1], box[3]), cost, flaw))
        accepted = {((b[1], b[3]), cost, flaw) for b, cost, flaw in self.soft if b[0] < x1 and b[2] > x0}
        return tuple(sorted(avoided)), tuple(sorted(accepted)), tuple(sorted(weakening))

    @cached_property
    def met(self) -> tuple[tuple[int, Met], ...]:
        """The first rough start of each stretch along which the same boxes are met, and those."""
        starts = self.starts
        x0 = np.array(starts, dtype=np.int64)[:, None] + self.end_trim
        hard, soft = (
            _meets(list(self.hard), x0, self.length),
            _meets([b for b, _, _ in self.soft], x0, self.length),
        )
        weak = _meets([b for b, _, _ in self.weak], x0, self.length)
        ends = np.zeros_like(weak)
        if self.end_clear > 0 and self.weak:
            lows = np.array([b[0] for b, _, _ in self.weak])[None, :]
            highs = np.array([b[2] for b, _, _ in self.weak])[None, :]
            ends = weak & ((lows < x0 + self.end_clear) | (highs > x0 + self.length - self.end_clear))
        found: list[tuple[int, Met]] = []
        for number, start in enumerate(starts):
            avoided = {(self.hard[n][1], self.hard[n][3]) for n in np.nonzero(hard[number])[0]}
            weakening = set()
            for n in np.nonzero(weak[number])[0]:
                box, cost, flaw = self.weak[n]
                if ends[number, n]:
                    avoided.add((box[1], box[3]))
                else:
                    weakening.add(((box[1], box[3]), cost, flaw))
            accepted = {
                ((box[1], box[3]), cost, flaw)
                for box, cost, flaw in (self.soft[n] for n in np.nonzero(soft[number])[0])
            }
            met = tuple(sorted(avoided)), tuple(sorted(accepted)), tuple(sorted(weakening))
            if not found or met != found[-1][1]:
                found.append((start, met))
        return tuple(found)


def _meets(boxes: Sequence[Box], x0: NDArray[np.int64], length: int) -> NDArray[np.bool_]:
    """By finished start and box: do they overlap along the board?"""
    if not boxes:
        return np.zeros((len(x0), 0), dtype=bool)
    lows, highs = np.array([b[0] for b in boxes]), np.array([b[2] for b in boxes])
    return (lows[None, :] < x0 + length) & (highs[None, :] > x0)


@dataclass(frozen=True)
class Fit:
    """How one panel's staves with one role and one face shown lie on one board."""

    instance: Instance
    timber: Timber
    demand: Demand
    role: Role
    show: Face
    flaws: "FlawsAlong"
    low_allowance: int
    high_allowance: int
    narrowest: int
    widest: int

    @property
    def rough_length(self) -> int:
        """How long the stave is cut."""
        return self.demand.rough_length

    @property
    def least_rough(self) -> int:
        """The narrowest rough width."""
        return self.narrowest + self.low_allowance + self.high_allowance

    @property
    def first_start(self) -> int:
        """The least rough x0."""
        return self.instance.cuts.end_loss

    @property
    def last_start(self) -> int:
        """The greatest rough x0."""
        return self.timber.length - self.instance.cuts.end_loss - self.rough_length

    @cached_property
    def regimes(self) -> tuple[tuple[int, ...], tuple[tuple[Cell, ...], ...]]:
        """Where along the board the cells change: the first rough start of each regime, and its cells."""
        known: dict[Met, tuple[Cell, ...]] = {}
        firsts: list[int] = []
        cells: list[tuple[Cell, ...]] = []
        for start, met in self.flaws.met:
            if met not in known:
                known[met] = self._across(met)
            if not cells or known[met] != cells[-1]:
                firsts.append(start)
                cells.append(known[met])
        return tuple(firsts), tuple(cells)

    @cached_property
    def anywhere(self) -> bool:
        """Is there any place along the board for such a stave?"""
        return any(self._across(self.flaws.met_at(start)) for start in self.flaws.starts)

    @cached_property
    def anchors(self) -> tuple[int, ...]:
        """Rough starts at the ends of regimes, bar those that the regime beside makes needless.

        Between two of them a stave gains nothing by lying here rather than there but in what is left over.
        """
        firsts, cells = self.regimes
        found = {self.first_start, self.last_start}
        for first, before, after in zip(firsts[1:], cells, cells[1:], strict=False):
            if not _all_covered(before, after):
                found.add(first - 1)
            if not _all_covered(after, before):
                found.add(first)
        return tuple(sorted(found))

    def cells(self, start: int) -> tuple[Cell, ...]:
        """The cells of a stave whose rough window starts at `start`, none within another at no less cost."""
        firsts, cells = self.regimes
        return cells[bisect_right(firsts, start) - 1]

    def places_between(self, first: int, last: int) -> list[int]:
        """A rough start in each regime with any strictly between `first` and `last`, bar that of `first`."""
        firsts, _ = self.regimes
        return list(firsts[bisect_right(firsts, first) : bisect_left(firsts, last)])

    def _across(self, met: "Met") -> tuple[Cell, ...]:
        hard, soft, weak = met
        floor, ceiling = self.low_allowance, self.timber.width - self.high_allowance
        spans = [*hard, *(span for span, _, _ in soft), *(span for span, _, _ in weak)]
        lows = sorted({floor} | {high for _, high in spans if high > floor})
        highs = sorted({ceiling} | {low for low, _ in spans if low < ceiling}, reverse=True)
        clear = self.instance.cuts.glue_clear
        found: list[Cell] = []
        for low in lows:
            for high in highs:
                if high - low < self.narrowest:
                    break
                if any(a < high and b > low for a, b in hard):
                    continue
                low_last, high_first = high - self.narrowest, low + self.narrowest
                costs: dict[int, float] = {}
                for (a, b), cost, flaw in soft:
                    if a < high and b > low:
                        costs[flaw] = cost
                for (a, b), cost, flaw in weak:
                    if a < high and b > low:
                        costs[flaw] = cost
                        if clear and not self.role.low_outer:
                            low_last = min(low_last, a - clear)
                        if clear and not self.role.high_outer:
                            high_first = max(high_first, b + clear)
                if low > low_last or high_first > high or high_first - low_last > self.widest:
                    continue
                cell = Cell(low, low_last, high_first, high, sum(costs.values()), self.narrowest, self.widest)
                if not any(covers(other, cell) for other in found):
                    found = [other for other in found if not covers(cell, other)]
                    found.append(cell)
        return tuple(found)


def covers(wide: Cell, narrow: Cell) -> bool:
    """Does `wide` allow all that `narrow` allows, at no more cost?"""
    return (
        wide.low <= narrow.low
        and wide.low_last >= narrow.low_last
        and wide.high_first <= narrow.high_first
        and wide.high >= narrow.high
        and wide.cost <= narrow.cost
        and wide.narrowest <= narrow.narrowest
        and wide.widest >= narrow.widest
    )


def _all_covered(these: Sequence[Cell], by: Sequence[Cell]) -> bool:
    return all(any(covers(wide, narrow) for wide in by) for narrow in these)


def straightening(timber: Timber, demand: Demand) -> int:
    """What straightening the board's edge takes of a stave's width, in whole mm, rounded up."""
    share = Fraction(demand.rough_length) / exactly(timber.board.length_mm)
    return ceil(exactly(timber.board.distortion.spring_mm) * share**2)


def widest_rough(timber: Timber, demand: Demand, cuts: Cuts) -> int:
    """The widest rough stave that flattening leaves thick enough, the board's width at most; 0 for none."""
    bend = timber.board.distortion
    along = Fraction(demand.rough_length) / exactly(timber.board.length_mm)
    across = 1 / exactly(timber.board.width_mm)
    spare = exactly(timber.board.thickness_mm) - 2 * cuts.face_planing - demand.thickness
    spare -= exactly(bend.bow_mm) * along**2
    cup, twist = exactly(bend.cup_mm) * across**2, exactly(bend.twist_mm) * along * across
    low, high = 0, timber.width
    if cup * high**2 + twist * high <= spare:
        return high
    while low < high:  # the width at which cup and twist have taken all that is to spare
        middle = (low + high + 1) // 2
        if cup * middle**2 + twist * middle <= spare:
            low = middle
        else:
            high = middle - 1
    return low


def may_serve(instance: Instance, timber: Timber, demand: Demand) -> bool:
    """Could the board serve the panel for all that its species, reading and length tell?"""
    return (
        demand.possible
        and timber.board.species in demand.panel.species
        and demand.rough_length <= timber.length - 2 * instance.cuts.end_loss
        and instance.in_reach(timber)
    )


def fits(instance: Instance, timber: Timber, demand: Demand) -> tuple[Fit, ...]:
    """Every role and face in which the board can serve the panel, flaws along it not yet looked at.

    Where neighbours do not care which face is shown and one face is nowhere better, it is left out.
    """
    cuts = instance.cuts
    if not may_serve(instance, timber, demand):
        return ()
    thick = widest_rough(timber, demand, cuts)
    bent = straightening(timber, demand)
    found: list[Fit] = []
    for show in _faces(instance, timber, demand):
        flaws = _flaws_along(instance, timber, demand, show)
        for role in roles_of(demand):
            low = cuts.side_trim if role.low_outer else cuts.edge_joint
            high = (cuts.side_trim if role.high_outer else cuts.edge_joint) + bent
            # A panel of one stave is as wide as the panel; one of several leaves room for the others.
            narrowest, widest = demand.narrowest, demand.widest
            if role is ALONE:
                narrowest, widest = max(narrowest, demand.width), min(widest, demand.width)
            elif demand.least <= 1:
                widest = min(widest, demand.width - demand.narrowest)
            widest = min(widest, min(thick, timber.width) - low - high)
            if narrowest <= widest:
                found.append(Fit(instance, timber, demand, role, show, flaws, low, high, narrowest, widest))
    return tuple(found)


def _flaws_along(instance: Instance, timber: Timber, demand: Demand, show: Face) -> FlawsAlong:
    cuts = instance.cuts
    soft: list[tuple[Box, float, int]] = []
    weak: list[tuple[Box, float, int]] = []
    hard: list[Box] = []
    for number, flaw in enumerate(timber.flaws):
        verdict = judge(instance, demand, flaw, show)
        if not verdict.lawful:
            hard += list(flaw.boxes)
        elif flaw.defect.weakening:
            weak += [(box, verdict.cost, number) for box in flaw.boxes]
        elif verdict.cost > 0:
            soft += [(box, verdict.cost, number) for box in flaw.boxes]
    return FlawsAlong(
        tuple(soft),
        tuple(weak),
        tuple(hard),
        cuts.end_loss,
        timber.length - cuts.end_loss - demand.rough_length,
        demand.length,
        cuts.end_trim,
        cuts.end_clear,
    )


def _faces(instance: Instance, timber: Timber, demand: Demand) -> tuple[Face, ...]:
    if faces_differ(instance, timber):
        return Face.A, Face.B
    verdicts = {
        face: [judge(instance, demand, flaw, face) for flaw in timber.flaws] for face in (Face.A, Face.B)
    }
    for face, other in ((Face.A, Face.B), (Face.B, Face.A)):
        no_worse = (
            (mine.lawful and (not theirs.lawful or mine.cost <= theirs.cost))
            or not (mine.lawful or theirs.lawful)
            for mine, theirs in zip(verdicts[face], verdicts[other], strict=True)
        )
        if all(no_worse):
            return (face,)
    return Face.A, Face.B
