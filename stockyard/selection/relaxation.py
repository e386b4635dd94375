"""The linear program over ways of cutting whole boards, and the bound that its prices prove.

Each panel wants staves in their roles and its width in finished mm, each board is cut in one way at most. At
any prices whatever, what the panels pay less what each board could earn beyond its cost is a bound on what
making the panels costs (weak duality): joints, moisture and species are left out, and cost nothing less.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.linear import GrowingLp, Model
from stockyard.selection.survey import Best, Lie, LinePrices, Shapes

OLD_SHARE = 0.6  # of the prices before, in those tried next


@dataclass(frozen=True)
class Group:
    """Panels that want the very same. shape: of their staves. must: boards that a panel of it has to hold."""

    number: int
    shape: int
    demands: tuple[Demand, ...]
    must: tuple[int, ...]

    @property
    def demand(self) -> Demand:
        """One of them."""
        return self.demands[0]

    def counts(self) -> range:
        """How many staves a panel may have."""
        return range(self.demand.least, self.demand.most + 1)


def groups_of(instance: Instance, demands: Sequence[Demand], shapes: Shapes) -> tuple[Group, ...]:
    """The demands by what they want."""
    found: dict[object, list[Demand]] = {}
    for demand in demands:
        must = tuple(sorted(board for index, board in instance.musts if index == demand.index))
        key = (
            shapes.of[demand.index],
            demand.width,
            demand.least,
            demand.most,
            must,
            demand.index if must else -1,
        )
        found.setdefault(key, []).append(demand)
    return tuple(
        Group(
            n, shapes.of[d[0].index], tuple(d), tuple(b for i, b in sorted(instance.musts) if i == d[0].index)
        )
        for n, d in enumerate(found.values())
    )


@dataclass(frozen=True)
class Prices:
    """What a group pays, by its number: for a stave with 0, 1 or 2 outer edges, and for a mm of its width.

    must: what a stave of a board that a group has to hold is worth beside, by group and board.
    """

    stave: np.ndarray  # groups x 3
    mm: np.ndarray  # groups
    must: Mapping[tuple[int, int], float]

    @classmethod
    def nothing(cls) -> "Prices":
        """No prices for no groups."""
        return cls(np.zeros((0, 3)), np.zeros(0), {})

    def mixed(self, new: "Prices", share: float) -> "Prices":
        """So much of these prices, the rest of the new ones."""
        return Prices(
            share * self.stave + (1 - share) * new.stave,
            share * self.mm + (1 - share) * new.mm,
            {key: share * self.must.get(key, 0.0) + (1 - share) * value for key, value in new.must.items()},
        )

    def asked(self, group: Group) -> float:
        """The least that making one panel of the group pays."""
        stave, width = self.stave[group.number], group.demand.width
        pays = [stave[2] if n == 1 else (n - 2) * stave[0] + 2 * stave[1] for n in group.counts()]
        musts = sum(value for (number, _), value in self.must.items() if number == group.number)
        return float(self.mm[group.number] * width + min(pays) + musts)

    def all_lines(self, groups: Sequence[Group], shapes: Shapes, board: int) -> LinePrices:
        """The prices by kind of stave, one for each group that wants such staves."""
        return self.lines(groups, shapes, board, every=True)

    def densest(self, groups: Sequence[Group]) -> float:
        """The most that a square mm of a board can earn in a stave."""
        found = 0.0
        for group in groups:
            demand, n = group.demand, group.number
            musts = sum(max(0.0, value) for (number, _), value in self.must.items() if number == n)
            for outer in range(3):
                for width in (demand.narrowest, demand.widest, demand.width):
                    if width > 0:
                        worth = float(self.stave[n, outer]) + musts + float(self.mm[n]) * width
                        found = max(found, worth / (demand.rough_length * width))
        return found

    def lines(
        self, groups: Sequence[Group], shapes: Shapes, board: int | None = None, *, every: bool = False
    ) -> LinePrices:
        """The prices by kind of stave, those left out that are nowhere the best. board: for its own musts."""
        starts, stave, mm, panels = [0], [], [], []
        by_shape: dict[int, list[Group]] = {}
        for group in groups:
            by_shape.setdefault(group.shape, []).append(group)
        for shape, demand in enumerate(shapes.demands):
            for outer in range(3):
                lines = [
                    (
                        float(self.stave[g.number, outer])
                        + (self.must.get((g.number, board), 0.0) if board is not None else 0.0),
                        float(self.mm[g.number]),
                        g.number,
                    )
                    for g in by_shape.get(shape, [])
                ]
                for line in lines if every else _worthwhile(lines, demand.narrowest, demand.widest):
                    stave.append(line[0])
                    mm.append(line[1])
                    panels.append(line[2])
                starts.append(len(stave))
        return LinePrices(np.array(starts, dtype=np.int64), np.array(stave), np.array(mm), tuple(panels))


def _worthwhile(
    lines: Iterable[tuple[float, float, int]], least: int, most: int
) -> list[tuple[float, float, int]]:
    """The lines that are somewhere the highest between two widths."""
    kept: list[tuple[float, float, int]] = []
    for line in sorted(lines, key=lambda one: (one[1], one[0], -one[2])):  # the steepest last
        while kept:
            top = kept[-1]
            if line[0] + line[1] * least >= top[0] + top[1] * least:
                kept.pop()  # the new one is higher from the start
                continue
            if len(kept) > 1 and _cross(kept[-2], line) <= _cross(kept[-2], top):
                kept.pop()
                continue
            break
        if not kept or line[0] + line[1] * most > kept[-1][0] + kept[-1][1] * most:
            kept.append(line)
    return kept


def _cross(one: tuple[float, float, int], other: tuple[float, float, int]) -> float:
    """The width from which the steeper of two lines is the higher."""
    return (one[0] - other[0]) / (other[1] - one[1])


@dataclass(frozen=True)
class Slot:
    """A stave of a way: for which group, in which section of the way, and how it may lie, by outer edges."""

    group: int
    section: int
    lies: tuple[Lie, ...]

    @property
    def least(self) -> int:
        """The least finished width that it can have however it lies."""
        return max(lie.least for lie in self.lies)

    @property
    def most(self) -> int:
        """The greatest finished width that it can have however it lies."""
        return min(lie.most for lie in self.lies)

    def can(self, outer: int) -> bool:
        """May it have so many outer edges?"""
        return any(lie.role.outer_edges == outer for lie in self.lies)


@dataclass(frozen=True)
class Way:
    """One way of cutting a board. staves: group, outer edges, finished width. cost: of it all, at best.

    slots: the staves as they lie, their widths at most those of `staves`; None where it is only a bound,
    since they cannot lie so. starts: of its sections.
    """

    board: int
    staves: tuple[tuple[int, int, int], ...]
    cost: float
    slots: tuple[Slot, ...] | None
    ends: tuple[tuple[int, int], ...] = ()

    def worth(self, prices: Prices) -> float:
        """What it earns at prices."""
        return sum(
            float(prices.stave[group, outer]) + float(prices.mm[group]) * width
            + prices.must.get((group, self.board), 0.0)
            for group, outer, width in self.staves
        )  # fmt: skip


def way_of(best: Best) -> Way:
    """The way of cutting that a priced board found best."""
    survey, prices = best.survey, best.prices
    sections, staves = best.staves()
    found, worth = [], 0.0
    slots: list[Slot] = []
    lawful = True
    full: dict[int, bool] = {}
    for section, row, line, low, high in staves:
        kind, margin = int(survey.rows[row, 0]), int(survey.rows[row, 7])
        width = high - low - margin
        group = prices.panels[line]
        worth += float(prices.stave[line]) + float(prices.mm[line]) * width
        found.append((group, kind % 3, width))
        lies = survey.lying(sections[section], row, low, high)
        lawful = lawful and bool(lies)
        full[section] = full.get(section, False) or survey.is_full(sections[section], row)
        slots.append(Slot(group, section, tuple(lies)))
    ends = tuple((x, x + int(survey.spans[span, 3])) for span, x in sections)
    return Way(
        survey.timber.index,
        tuple(sorted(found)),
        best.excess + worth,
        tuple(slots) if lawful and all(full.values()) else None,
        ends,
    )


class Relaxation:
    """The linear program over the ways known so far; dear: what leaving one panel of a group unmade costs."""

    def __init__(self, groups: Sequence[Group], dear: Sequence[float]) -> None:
        self.groups = groups
        self._dear, self._raised = list(dear), 0
        model = Model()
        self._width, self._roles = [], []
        self._unmade: list[int] = []
        self._must: dict[tuple[int, int], int] = {}
        for group in groups:
            unmade = model.add_column(dear[group.number])
            counts = {n: model.add_column() for n in group.counts()}
            model.add_row(
                dict.fromkeys(counts.values(), 1.0) | {unmade: 1.0}, *(2 * [float(len(group.demands))])
            )
            self._width.append(
                model.add_row(dict.fromkeys(counts.values(), -float(group.demand.width)), 0.0, 0.0)
            )
            wanted = [[(n - 2) if n > 1 else 0, 2 if n > 1 else 0, int(n == 1)] for n in counts]
            self._roles.append([
                model.add_row(
                    {c: -float(w[outer]) for c, w in zip(counts.values(), wanted, strict=True)}, 0.0, 0.0
                )
                for outer in range(3)
            ])  # fmt: skip
            for board in group.must:
                self._must[group.number, board] = model.add_row({unmade: 1.0}, low=1.0)
            self._unmade.append(unmade)
        self._board: dict[int, int] = {}
        self._lp = GrowingLp(model)
        self._rows = len(model.row_lows)
        self.ways: list[Way] = []
        self._known: set[tuple[int, tuple[tuple[int, int, int], ...]]] = set()
        self._first = len(model.costs)

    def dearer(self) -> bool:
        """Let panels go unmade only at four times the price; False once that has been done often enough."""
        self._raised += 1
        self._dear = [4 * dear for dear in self._dear]
        for column, dear in zip(self._unmade, self._dear, strict=True):
            self._lp.price(column, dear)
        return self._raised < 6

    def add(self, way: Way) -> bool:
        """Let the program use a way of cutting; False when it knows it."""
        if (way.board, way.staves) in self._known:
            return False
        self._known.add((way.board, way.staves))
        if way.board not in self._board:
            self._board[way.board] = self._lp.add_row(high=1.0)
        terms: dict[int, float] = {self._board[way.board]: 1.0}
        for group, outer, width in way.staves:
            for row, amount in ((self._width[group], float(width)), (self._roles[group][outer], 1.0)):
                terms[row] = terms.get(row, 0.0) + amount
            row = self._must.get((group, way.board), -1)
            if row >= 0:
                terms[row] = terms.get(row, 0.0) + 1.0
        self._lp.add_column(way.cost, terms)
        self.ways.append(way)
        return True

    def solve(self) -> tuple[float, Prices, Mapping[int, float], float]:
        """The least cost, prices, what each board earns beyond its cost, and how many panels go unmade."""
        cost, duals, values = self._lp.solved()
        prices = Prices(
            np.array([[duals[row] for row in rows] for rows in self._roles]).reshape(-1, 3),
            np.array([duals[row] for row in self._width]),
            {key: duals[row] for key, row in self._must.items()},
        )
        earned = {board: duals[row] for board, row in self._board.items()}
        return cost, prices, earned, sum(values[column] for column in self._unmade)

    def used(self) -> list[tuple[float, Way]]:
        """The ways that the last answer uses, with how much of each."""
        _, _, values = self._lp.solved()
        return [
            (values[self._first + n], way)
            for n, way in enumerate(self.ways)
            if values[self._first + n] > 1e-9
        ]
