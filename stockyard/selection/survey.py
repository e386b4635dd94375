"""What one board could give, listed once: its cells by place along it, and the sections they may lie in.

Nothing that a lawful way of cutting needs is left out, so that what the board could earn at given prices is
never too little. Three things are taken for better than they are: a stave shorter than its section may lie
wherever any section of the span would let it, a section longer than its longest stave takes only the least
length of its range, and a strip is credited for all of its length but what every section of the span covers.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from stockyard.selection.cells import Fit, Role, fits
from stockyard.selection.instance import Box, Demand, Instance, Timber
from stockyard.selection.judging import faces_differ, judge
from stockyard.selection.pricingkernels import backward, onward, price_spans, stave_rows
from stockyard.selection.ripping import Floats, Ints
from stockyard.selection.surveykernels import cells_along, gathered
from stockyard.timber import Face

LONGER = ((1, 40), (41, 150), (151, 1 << 30))
"""By how much sections may be longer than their longest stave, taken together. [mm]"""

SLIDE = 50
"""How far a section's end slides through a flaw that its strips are not credited for, taken together. [mm]"""

MODES = (Face.A, Face.B)


@dataclass(frozen=True)
class Shapes:
    """Panels whose staves are alike but for what they are worth: by demand, which shape; a demand of each."""

    of: Mapping[int, int]
    demands: tuple[Demand, ...]

    @cached_property
    def lengths(self) -> Ints:
        """Rough stave length by kind; a kind is a shape and a number of outer edges."""
        return np.repeat(np.array([d.rough_length for d in self.demands], dtype=np.int64), 3)


def shapes_of(demands: Sequence[Demand]) -> Shapes:
    """The shapes of these demands."""
    known: dict[object, int] = {}
    of: dict[int, int] = {}
    first: list[Demand] = []
    for demand in demands:
        lone = demand.width if demand.least <= 1 else 0
        key = (
            demand.length, demand.narrowest, demand.widest, demand.thickness, demand.both,
            demand.panel.species, lone, min(demand.most, 3),
        )  # fmt: skip
        if key not in known:
            known[key] = len(first)
            first.append(demand)
        of[demand.index] = known[key]
    return Shapes(of, tuple(first))


@dataclass(frozen=True)
class Lie:
    """How a stave lies: its rough start, role, face shown, finished low edge, and how wide it may be. [mm]"""

    start: int
    role: Role
    show: Face
    low: int
    least: int
    most: int


@dataclass(frozen=True)
class LinePrices:
    """Prices as the kernels read them. panels: by line, the demand whose price it is."""

    line_from: Ints
    stave: Floats
    mm: Floats
    panels: tuple[int, ...]


class Survey:
    """One board.

    finely: every place and every length of a section by itself, so that nothing is taken for better than it
    is; much slower.
    """

    def __init__(self, instance: Instance, timber: Timber, shapes: Shapes, *, finely: bool = False) -> None:
        self._finely = finely
        self.instance, self.timber, self.shapes = instance, timber, shapes
        self.cost = instance.board_cost(timber)
        self.differ = faces_differ(instance, timber)
        cuts = instance.cuts
        self.rate = instance.credit_rate(timber)
        self.blots = np.array(_apart(timber.blots), dtype=np.int64).reshape(-1, 4)
        self.credit = self._along()
        self._fits = [fits(instance, timber, demand) for demand in shapes.demands]
        self._roles: dict[int, list[Fit]] = {}
        self._stretches: list[tuple[int, Ints, Ints, int]] = []  # shape, starts, where rows begin, last start
        self._list_cells()
        rough = [int(r) for r in self.rows[:, 5]] if len(self.rows) else [timber.width + 1]
        self.layers = max(1, (timber.width + cuts.kerf) // (min(rough) + cuts.kerf))
        self._list_spans()

    @property
    def empty(self) -> bool:
        """Is there no place for any stave?"""
        return not len(self.rows)

    def _along(self) -> Floats:
        length, width = self.timber.length, self.timber.width
        clear = np.full(length, float(width))
        for x0, y0, x1, y1 in self.blots:
            clear[x0:x1] -= y1 - y0
        if width < self.instance.cuts.offcut_width:
            clear[:] = 0.0
        return np.concatenate(([0.0], self.rate * np.cumsum(clear)))

    def _list_cells(self) -> None:
        boxes, flaw_of = _boxes(self.timber)
        weak = np.array([flaw.defect.weakening for flaw in self.timber.flaws], dtype=np.int64)
        cuts = self.instance.cuts
        verdicts: dict[bool, tuple[Ints, Floats]] = {}
        rows: list[Ints] = []
        costs: list[Floats] = []
        filled = 0
        for shape, theirs in enumerate(self._fits):
            if not theirs:
                continue
            demand = self.shapes.demands[shape]
            if demand.both not in verdicts:
                verdicts[demand.both] = self._verdicts(demand)
            hard, prices = verdicts[demand.both]
            roles = {fit.role: fit for fit in theirs}
            self._roles[shape] = list(roles.values())
            modes = sorted({MODES.index(fit.show) for fit in theirs})
            starts, begins, mine, price = cells_along(
                boxes, flaw_of, weak, hard, prices, np.array([_role(shape, f) for f in roles.values()]),
                np.array(modes), cuts.end_loss, theirs[0].last_start, demand.length, cuts.end_trim,
                cuts.end_clear, cuts.glue_clear, self.timber.width, self.differ,
            )  # fmt: skip
            if len(mine):
                self._stretches.append((shape, starts, begins + filled, theirs[0].last_start))
                rows.append(mine)
                costs.append(price)
                filled += len(mine)
        self.rows = np.concatenate(rows) if rows else np.zeros((0, 10), dtype=np.int64)
        self.costs = np.concatenate(costs) if costs else np.zeros(0)

    def _verdicts(self, demand: Demand) -> tuple[Ints, Floats]:
        found = [[judge(self.instance, demand, flaw, show) for flaw in self.timber.flaws] for show in MODES]
        hard = np.array([[not v.lawful for v in row] for row in found], dtype=np.int64).reshape(2, -1)
        return hard, np.array([[v.cost for v in row] for row in found]).reshape(2, -1)

    def _list_spans(self) -> None:
        spans: list[tuple[int, ...]] = []
        members: list[Ints] = []
        classes = [0]
        self.greatest: dict[int, int] = {}  # by a class's first span, how much longer than the longest stave
        cuts = self.instance.cuts
        lengths = sorted({self.shapes.demands[shape].rough_length for shape, *_ in self._stretches})
        for longest in lengths:
            longer = tuple((n, n) for n in range(1, self.timber.length)) if self._finely else LONGER
            for least, greatest in ((0, 0), *longer):
                if greatest and self.layers < 2:
                    continue
                greatest = min(greatest, self.timber.length - 2 * cuts.end_loss - longest)
                if greatest < least:
                    continue
                self._list_class(longest, least, greatest, spans, members)
                if len(spans) > classes[-1]:
                    self.greatest[classes[-1]] = greatest
                    classes.append(len(spans))
        self.spans = np.array(spans, dtype=np.int64).reshape(-1, 8)
        self.classes = np.array(classes, dtype=np.int64)
        self._member_from = np.concatenate(([0], np.cumsum([len(m) for m in members]))).astype(np.int64)
        self._members = np.concatenate(members) if members else np.zeros(0, dtype=np.int64)

    def _list_class(
        self, longest: int, least: int, greatest: int, spans: list[tuple[int, ...]], members: list[Ints]
    ) -> None:
        cuts = self.instance.cuts
        first, last = cuts.end_loss, self.timber.length - cuts.end_loss - longest - least
        credited = 0
        if longest + greatest >= cuts.offcut_length and self.rate > 0:
            # What a strip of a longer section gives beyond this, the gap beside a shorter one gives too.
            credited = min(longest + greatest, longest + least + cuts.offcut_length + 2 * cuts.kerf)
        marks = {first}
        for shape, starts, _, _ in self._stretches:
            if self.shapes.demands[shape].rough_length == longest:
                marks.update(starts.tolist())
        if credited and not greatest:
            for x0, _, x1, _ in self.blots.tolist():
                for end in (0, longest):
                    marks.update(range(x0 - end, x1 - end, SLIDE))
                    marks.add(x1 - end)
        if self._finely:
            marks.update(range(first, last + 1))
        kept = sorted(x for x in marks if first <= x <= last)
        for start, following in pairwise([*kept, last + 1]):
            inside = []
            for shape, starts, begins, final in self._stretches:
                length = self.shapes.demands[shape].rough_length
                if length > longest or (length < longest and self.layers < 2):
                    continue
                until = min(final, following - 1 + longest + greatest - length)
                offset = int(begins[0])
                count = int(begins[-1])
                inside.append(
                    gathered(
                        starts, begins - offset, self.rows[offset:count], self.costs[offset:count], offset,
                        start, until, self.differ,
                    )
                )  # fmt: skip
            spans.append(
                (start, following - 1, longest + least, longest, greatest > 0, credited, following - 1,
                 start + longest + least)
            )  # fmt: skip
            members.append(np.concatenate(inside) if inside else np.zeros(0, dtype=np.int64))

    def role(self, shape: int, number: int) -> Fit:
        """How staves of a shape lie in the role of that number, whichever face they show."""
        return self._roles[shape][number]

    def members(self, span: int) -> Ints:
        """The numbers of the rows that may lie in a section of this span."""
        return self._members[self._member_from[span] : self._member_from[span + 1]]

    def is_full(self, section: tuple[int, int], row: int) -> bool:
        """Is a stave of this row as long as the longest of the section?"""
        return bool(self.shapes.lengths[self.rows[row, 0]] == self.spans[section[0], 3])

    def lying(self, section: tuple[int, int], row: int, low: int, high: int) -> list[Lie]:
        """Each way in which a stave of a row may lie in a section with these rough edges, at no more cost.

        With one outer edge as well as with none, if the section (span and start) lets it.
        """
        span, x0 = section
        longest = int(self.spans[span, 3])
        kind = int(self.rows[row, 0])
        kinds = (kind,) if kind % 3 == 2 else (kind - kind % 3, kind - kind % 3 + 1)
        found: dict[int, Lie] = {}
        for shape, starts, begins, _ in self._stretches:
            if shape != kind // 3:
                continue
            last = x0 + longest - self.shapes.demands[shape].rough_length
            for n in range(int(np.searchsorted(starts, x0, side="right")) - 1, len(starts)):
                start = max(x0, int(starts[n]))
                if start > last:
                    break
                for r in range(int(begins[n]), int(begins[n + 1])):
                    k, l0, l1, h0, h1, least, most, margin, mode, role = self.rows[r].tolist()
                    fits_in = l0 <= low <= l1 and h0 <= high <= h1 and least <= high - low <= most
                    if (
                        k in kinds
                        and k % 3 not in found
                        and fits_in
                        and self.costs[r] <= self.costs[row] + 1e-12
                    ):
                        fit = self._roles[shape][role]
                        found[k % 3] = Lie(
                            start, fit.role, MODES[mode], low + fit.low_allowance,
                            max(h0, low + least) - low - margin, high - low - margin,
                        )  # fmt: skip
        return [found[outer] for outer in sorted(found)]

    def values(self, prices: LinePrices, even: bool) -> Floats:
        """By span, the most that a section of it is worth."""
        cuts = self.instance.cuts
        return price_spans(
            self.spans, self._member_from, self._members, self.rows, self.costs, self.shapes.lengths,
            prices.line_from, prices.stave, prices.mm, self.blots, self.rate, self.timber.width, cuts.kerf,
            cuts.offcut_width, self.layers, even,
        )  # fmt: skip

    def best(self, prices: LinePrices, *, even: bool = False) -> "Best":
        """The best way of cutting the board at these prices.

        even: with no section longer than its longest stave, which proves nothing but can mostly be cut.
        """
        cuts, length = self.instance.cuts, self.timber.length
        values = self.values(prices, even)
        begun, ended = np.empty(length + 1), np.empty(length + 1)
        came = np.empty((length + 1, 3), dtype=np.int64)
        worth, where = onward(
            self.spans, self.classes, values, length, cuts.kerf, cuts.offcut_length, self.credit, begun,
            ended, came,
        )  # fmt: skip
        return Best(self, prices, self.cost - worth, where, values, begun, came)


@dataclass(frozen=True)
class Best:
    """A board priced. excess: at least what cutting it costs beyond what it earns, however it is cut."""

    survey: Survey
    prices: LinePrices
    excess: float
    where: int
    values: Floats
    begun: Floats
    came: Ints

    @cached_property
    def to_come(self) -> tuple[Floats, Floats]:
        """By x, the most still to be earned once a section has ended there, and by one that starts there."""
        survey = self.survey
        cuts = survey.instance.cuts
        return backward(
            survey.spans, survey.classes, self.values, survey.timber.length, cuts.kerf, cuts.offcut_length,
            survey.credit,
        )  # fmt: skip

    def staves(self) -> tuple[list[tuple[int, int]], list[tuple[int, int, int, int, int]]]:
        """Sections (span, start) and staves (section, row, price line, rough low and high edge)."""
        survey, prices = self.survey, self.prices
        cuts = survey.instance.cuts
        sections, staves = stave_rows(
            survey.spans, survey._member_from, survey._members, survey.rows, survey.costs,
            survey.shapes.lengths, prices.line_from, prices.stave, prices.mm, survey.blots, survey.rate,
            survey.timber.width, cuts.kerf, cuts.offcut_width, survey.layers, self.came, self.where,
        )  # fmt: skip
        return [tuple(s) for s in sections.tolist()], [tuple(s) for s in staves.tolist()]


def _role(shape: int, fit: Fit) -> tuple[int, ...]:
    role = fit.role
    return (
        3 * shape + role.outer_edges, fit.low_allowance, fit.high_allowance, role.low_outer, role.high_outer,
        fit.narrowest, fit.widest,
    )  # fmt: skip


def _boxes(timber: Timber) -> tuple[Ints, Ints]:
    """The boxes of all flaws, those in a row along the board as one, and whose each is."""
    boxes: list[list[int]] = []
    flaw_of: list[int] = []
    for number, flaw in enumerate(timber.flaws):
        for x0, y0, x1, y1 in sorted(flaw.boxes):
            last = boxes[-1] if boxes and flaw_of[-1] == number else None
            if last is not None and last[2] == x0 and (last[1], last[3]) == (y0, y1):
                last[2] = x1
            else:
                boxes.append([x0, y0, x1, y1])
                flaw_of.append(number)
    return np.array(boxes, dtype=np.int64).reshape(-1, 4), np.array(flaw_of, dtype=np.int64)


def _apart(boxes: Sequence[Box]) -> list[Box]:
    """What the boxes cover together, as boxes that share nothing."""
    found: list[Box] = []
    xs = sorted({x for box in boxes for x in (box[0], box[2])})
    for left, right in pairwise(xs):
        reached = -1
        for low, high in sorted((b[1], b[3]) for b in boxes if b[0] <= left and right <= b[2]):
            low = max(low, reached)
            if low < high:
                found.append((left, low, right, high))
                reached = high
    return found
