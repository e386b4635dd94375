"""A bound on the cost, and the prices that go with it: what a stave and a mm of its width are worth.

The relaxation lets a board be cut in fractions of several ways, boards of one panel differ in species and
moisture, and joints cost no more than the cheapest. It is solved by pricing board after board: at any prices
whatever, what the panels are worth less what the boards could gain on them is a bound on the cost.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from time import monotonic

import numpy as np

from stockyard.selection.contents import Content, Kind, Kinds
from stockyard.selection.instance import Demand
from stockyard.selection.linear import GrowingLp, Model
from stockyard.selection.pricing import Cutting, Pricer
from stockyard.selection.ripping import Floats
from stockyard.timber import Face

OLD_SHARE = 0.6  # of the best prices so far, in the prices tried next: it keeps them from swinging
ROUNDS = 200
NEAR = 40  # boards priced every time


@dataclass(frozen=True, slots=True)
class Prices:
    """Worth of a mm of finished width by panel's index, and of a stave by panel's index and outer edges."""

    per_mm: Mapping[int, float]
    per_stave: Mapping[tuple[int, int], float]

    def of_table(self, kinds: Kinds, content: Content, shape: tuple[int, ...]) -> Floats:
        """Worth of a content at each of its total widths."""
        staves = sum(
            count * self.per_stave.get((demand, outer), 0.0)
            for (demand, outer, _), count in zip(kinds.kinds, content, strict=True)
        )
        total = np.full(shape, staves)
        for axis, (demand, first) in enumerate(zip(kinds.demands, kinds.first(content), strict=True)):
            line = self.per_mm.get(demand, 0.0) * (first + np.arange(shape[axis]))
            total += line.reshape([-1 if a == axis else 1 for a in range(len(shape))])
        return total

    def worth(self) -> dict[Kind, float]:
        """Worth of a stave by kind, whichever face it shows."""
        return {
            (demand, outer, face): worth
            for (demand, outer), worth in self.per_stave.items()
            for face in (Face.A, Face.B, Face.BOTH)
        }

    def mixed_with(self, other: "Prices", share: float) -> "Prices":
        """These prices with a share of others."""
        return Prices(
            {k: (1 - share) * v + share * other.per_mm[k] for k, v in self.per_mm.items()},
            {k: (1 - share) * v + share * other.per_stave[k] for k, v in self.per_stave.items()},
        )

    def of_panel(self, demand: Demand) -> float:
        """The least that a panel's width and staves are worth together."""
        return demand.width * self.per_mm[demand.index] + min(
            sum(
                wanted(n, outer) * self.per_stave[demand.index, outer]
                for outer in range(3)
                if wanted(n, outer)
            )
            for n in range(demand.least, demand.most + 1)
        )


@dataclass(frozen=True, slots=True)
class Bound:
    """A bound on the cost of making all the panels, its prices, each board's least cost less worth."""

    value: float
    prices: Prices
    gains: Mapping[int, float]


def wanted(staves: int, outer: int) -> int:
    """How many staves with so many outer edges a panel of `staves` has."""
    if staves == 1:
        return int(outer == 2)
    return (staves - 2, 2, 0)[outer]


class Relaxation:
    """The relaxation of making all of some panels from some boards."""

    def __init__(self, demands: Sequence[Demand], pricers: Mapping[int, Pricer], shortage: float) -> None:
        self.demands, self.pricers = demands, pricers
        self.columns: list[Cutting] = []
        self._known: set[Cutting] = set()
        self._shortage = shortage  # price of a mm that cannot be had
        self._width_rows: dict[int, int] = {}
        self._role_rows: dict[tuple[int, int], int] = {}
        self._board_rows: dict[int, int] = {}
        self._lp = self._begin()

    def solve(self, deadline: float) -> Bound | None:
        """The best bound found by the deadline; None when there was not even time for one.

        Boards far from worth cutting are looked at seldom: every board is priced only when the few that
        were nearest offer nothing new.
        """
        best: Bound | None = None
        near = list(self.pricers)
        for _ in range(ROUNDS):
            prices = self._prices()
            tried = prices if best is None else prices.mixed_with(best.prices, OLD_SHARE)
            added = self._price_some(near, tried, deadline) if best is not None else 0
            if added is None:
                break
            if added == 0 and best is not None:
                added = self._price_some(near, prices, deadline)
                if added is None:
                    break
            if added:
                continue
            full = self._price_all(prices, deadline)
            if full is None:
                break
            bound, added, near = full
            if best is None or bound.value > best.value:
                best = bound
            if not added:
                break
        return best

    def _price_some(self, boards: Sequence[int], prices: Prices, deadline: float) -> int | None:
        worth = prices.worth()
        added = 0
        for index in boards:
            if monotonic() > deadline:
                return None
            _, cutting = self.pricers[index].best(worth, prices.per_mm)
            added += self._add(cutting)
        return added

    def _price_all(self, prices: Prices, deadline: float) -> tuple[Bound, int, list[int]] | None:
        worth = prices.worth()
        total = sum(prices.of_panel(demand) for demand in self.demands)
        gains: dict[int, float] = {}
        added = 0
        for index, pricer in self.pricers.items():
            if monotonic() > deadline:
                return None
            gains[index], cutting = pricer.best(worth, prices.per_mm)
            total += min(0.0, gains[index])
            added += self._add(cutting)
        near = sorted(gains, key=lambda index: (gains[index], index))[:NEAR]
        return Bound(total, prices, gains), added, near

    def _add(self, cutting: Cutting | None) -> int:
        if cutting is None or cutting in self._known:
            return 0
        self._known.add(cutting)
        self.columns.append(cutting)
        terms: dict[int, float] = {self._board_rows[cutting.timber]: 1.0}
        for index, width in cutting.widths:
            terms[self._width_rows[index]] = float(width)
        for (index, outer, _), count in cutting.kinds:
            row = self._role_rows[index, outer]
            terms[row] = terms.get(row, 0.0) + count
        self._lp.add_column(cutting.cost, terms)
        return 1

    def _begin(self) -> GrowingLp:
        """The panels' rows, with a price on what is short, and a row for each board."""
        model = Model()
        for demand in self.demands:
            width: dict[int, float] = {}
            roles: dict[int, dict[int, float]] = {outer: {} for outer in range(3)}
            made: dict[int, float] = {}
            for n in range(demand.least, demand.most + 1):
                column = model.add_column()
                made[column], width[column] = 1.0, -float(demand.width)
                for outer in range(3):
                    roles[outer][column] = -float(wanted(n, outer))
            for terms, price in (
                (width, self._shortage),
                *((r, 100 * self._shortage) for r in roles.values()),
            ):
                terms[model.add_column(price)] = 1.0
                terms[model.add_column(price)] = -1.0
            model.add_row(made, 1.0, 1.0)
            self._width_rows[demand.index] = model.add_row(width, 0.0, 0.0)
            for outer in range(3):
                self._role_rows[demand.index, outer] = model.add_row(roles[outer], 0.0, 0.0)
        for index in self.pricers:
            self._board_rows[index] = model.add_row({}, high=1.0)
        return GrowingLp(model)

    def _prices(self) -> Prices:
        """Prices at which the cuttings known so far are worth what they cost."""
        self.value, duals = self._lp.solve()
        return Prices(
            {index: duals[row] for index, row in self._width_rows.items()},
            {key: duals[row] for key, row in self._role_rows.items()},
        )
