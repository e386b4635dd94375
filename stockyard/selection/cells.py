"""Where across a board a stave may lie, once its place along the board is given.

A *cell* says that the stave's finished low edge may stand anywhere in one range and its high edge anywhere
in another, at one cost. Shrinking a window never meets more flaws, so a cell is named by the widest window
it allows; a weakening flaw inside it holds the glued edges off by the clear strip. All lawful windows are
covered by such cells, each at its true cost by the cell of its own flaws, so nothing is lost.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import ceil

from stockyard.selection.instance import Cuts, Demand, Instance, Timber, exactly
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


@dataclass(frozen=True)
class Fit:
    """How one panel's staves with one role and one face shown lie on one board."""

    instance: Instance
    timber: Timber
    demand: Demand
    role: Role
    show: Face
    soft: tuple[tuple[tuple[int, int, int, int], float, int], ...]  # box, cost of its flaw, flaw's number
    weak: tuple[tuple[tuple[int, int, int, int], float, int], ...]
    hard: tuple[tuple[int, int, int, int], ...]
    low_allowance: int
    high_allowance: int
    narrowest: int
    widest: int
    _cells: dict[tuple[object, ...], tuple[Cell, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def rough_length(self) -> int:
        """How long the stave is cut."""
        return self.demand.rough_length

    @property
    def least_rough(self) -> int:
        """The narrowest rough width."""
        return self.narrowest + self.low_allowance + self.high_allowance

    @property
    def free(self) -> bool:
        """Does no flaw matter to it anywhere?"""
        return not (self.soft or self.weak or self.hard)

    @property
    def first_start(self) -> int:
        """The least rough x0."""
        return self.instance.cuts.end_loss

    @property
    def last_start(self) -> int:
        """The greatest rough x0."""
        return self.timber.length - self.instance.cuts.end_loss - self.rough_length

    @cached_property
    def anchors(self) -> tuple[int, ...]:
        """Rough starts, ends of the stretches in which a given set of flaws is all that is met.

        Between two of them a stave gains nothing by lying here rather than there but in what is left over.
        """
        cuts, length = self.instance.cuts, self.demand.length
        finished: set[int] = set()
        for box in [*self.hard, *(box for box, _, _ in self.soft), *(box for box, _, _ in self.weak)]:
            finished |= {box[2], box[0] - length}
        for box, _, _ in self.weak:
            finished |= {box[0] - cuts.end_clear, box[2] - length + cuts.end_clear}
        starts = {x - cuts.end_trim for x in finished} | {self.first_start, self.last_start}
        return tuple(sorted(x for x in starts if self.first_start <= x <= self.last_start))

    @cached_property
    def regimes(self) -> tuple[tuple[int, ...], tuple[tuple[Cell, ...], ...]]:
        """Where along the board the cells change: the first rough start of each regime, and its cells."""
        cuts, length, trim = self.instance.cuts, self.demand.length, self.instance.cuts.end_trim
        changes = {self.first_start}
        for box in [*self.hard, *(box for box, _, _ in self.soft), *(box for box, _, _ in self.weak)]:
            changes |= {box[2] - trim, box[0] - length + 1 - trim}
        for box, _, _ in self.weak:
            changes |= {
                box[0] - cuts.end_clear + 1 - trim,
                box[2] - length + cuts.end_clear - trim,
            }
        firsts: list[int] = []
        cells: list[tuple[Cell, ...]] = []
        for start in sorted(x for x in changes if self.first_start <= x <= self.last_start):
            theirs = self._cells_at(start)
            if not cells or theirs != cells[-1]:
                firsts.append(start)
                cells.append(theirs)
        return tuple(firsts), tuple(cells)

    def cells(self, start: int) -> tuple[Cell, ...]:
        """The cells of a stave whose rough window starts at `start`, none within another at no less cost."""
        firsts, cells = self.regimes
        return cells[bisect_right(firsts, start) - 1]

    def places_between(self, first: int, last: int) -> list[int]:
        """A rough start in each regime that has any strictly between `first` and `last`, bar that of `first`."""
        firsts, _ = self.regimes
        return list(firsts[bisect_right(firsts, first) : bisect_left(firsts, last)])

    def _cells_at(self, start: int) -> tuple[Cell, ...]:
        cuts, x0 = self.instance.cuts, start + self.instance.cuts.end_trim
        x1 = x0 + self.demand.length
        hard = {(b[1], b[3]) for b in self.hard if b[0] < x1 and b[2] > x0}
        soft = {((b[1], b[3]), cost, flaw) for b, cost, flaw in self.soft if b[0] < x1 and b[2] > x0}
        weak: set[tuple[tuple[int, int], float, int]] = set()
        for b, cost, flaw in self.weak:
            if b[0] < x1 and b[2] > x0:
                at_an_end = cuts.end_clear > 0 and (b[0] < x0 + cuts.end_clear or b[2] > x1 - cuts.end_clear)
                if at_an_end:
                    hard.add((b[1], b[3]))
                else:
                    weak.add(((b[1], b[3]), cost, flaw))
        key = (frozenset(hard), frozenset(soft), frozenset(weak))
        if key not in self._cells:
            self._cells[key] = self._across(sorted(hard), sorted(soft), sorted(weak))
        return self._cells[key]

    def _across(
        self,
        hard: Sequence[tuple[int, int]],
        soft: Sequence[tuple[tuple[int, int], float, int]],
        weak: Sequence[tuple[tuple[int, int], float, int]],
    ) -> tuple[Cell, ...]:
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
    while low < high:  # the width at which cup and twist have taken all that is to spare
        middle = (low + high + 1) // 2
        if cup * middle**2 + twist * middle <= spare:
            low = middle
        else:
            high = middle - 1
    return low


def fits(instance: Instance, timber: Timber, demand: Demand) -> tuple[Fit, ...]:
    """Every role and face in which the board can serve the panel, flaws along it not yet looked at.

    Where neighbours do not care which face is shown and one face is nowhere better, it is left out.
    """
    cuts, board = instance.cuts, timber.board
    room = timber.length - 2 * cuts.end_loss
    if (
        not demand.possible
        or board.species not in demand.panel.species
        or not instance.in_reach(timber)
        or demand.rough_length > room
    ):
        return ()
    thick = widest_rough(timber, demand, cuts)
    bent = straightening(timber, demand)
    found: list[Fit] = []
    for show in _faces(instance, timber, demand):
        soft, weak, hard = _sorted_flaws(instance, timber, demand, show)
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
                found.append(
                    Fit(instance, timber, demand, role, show, soft, weak, hard, low, high, narrowest, widest)
                )
    return tuple(found)


_Priced = tuple[tuple[tuple[int, int, int, int], float, int], ...]


def _sorted_flaws(
    instance: Instance, timber: Timber, demand: Demand, show: Face
) -> tuple[_Priced, _Priced, tuple[tuple[int, int, int, int], ...]]:
    soft, weak, hard = [], [], []
    for number, flaw in enumerate(timber.flaws):
        verdict = judge(instance, demand, flaw, show)
        if not verdict.lawful:
            hard += list(flaw.boxes)
        elif flaw.defect.weakening:
            weak += [(box, verdict.cost, number) for box in flaw.boxes]
        elif verdict.cost > 0:
            soft += [(box, verdict.cost, number) for box in flaw.boxes]
    return tuple(soft), tuple(weak), tuple(hard)


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
