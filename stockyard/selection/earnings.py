"""A bound on the cost, from what every board could at most earn at given prices.

At any prices whatever for staves and for their widths, what the panels pay less what each board could earn
beyond its cost is a bound on the cost of making them (weak duality). What a board could earn is found over a
relaxation of all ways of cutting it that leaves no lawful way out:

- a section holds staves of any panels, roles and faces, in any number, each in any cell it may lie in;
- a section as long as its longest stave holds those exactly where it starts; one that is longer, its staves
  standing out of line, is taken to be only as long as the least of its range of lengths (`RANGES`) and its
  staves to lie anywhere in the greatest, so it is dearer in truth;
- strips are credited as clear; gaps along the board exactly; joints cost nothing.
"""

from bisect import bisect_right
from collections.abc import Sequence
from math import inf
from time import monotonic

import numpy as np

from stockyard.selection.cells import Fit
from stockyard.selection.clear import along
from stockyard.selection.earningkernels import NOTHING, board_earnings, section_earnings
from stockyard.selection.instance import Demand, Instance, Timber
from stockyard.selection.ripping import Floats
from stockyard.selection.routes import Prices

RANGES = (0, 40, 150, 500)
"""How much longer than their longest stave sections may be, up to each of these; and then any length. [mm]"""


class Earnings:
    """One board: what it could earn at prices, its places listed once."""

    def __init__(self, instance: Instance, timber: Timber, fits: Sequence[Fit]) -> None:
        self._instance, self.timber, self._fits = instance, timber, list(fits)
        rate = instance.credit_rate(timber)
        area = along(timber.blots, timber.length, timber.width)
        if timber.width >= instance.cuts.offcut_width:
            self._credit: Floats = rate * np.interp(np.arange(timber.length + 1), area.knots, area.areas)
        else:
            self._credit = np.zeros(timber.length + 1)
        self._rate = rate
        self._margins = np.array([fit.low_allowance + fit.high_allowance for fit in fits], dtype=np.int64)
        self._rows = [[self._cells(k, n) for n in range(len(fit.regimes[0]))] for k, fit in enumerate(fits)]
        self._spans = self._list_spans()

    def cost_less_earnings(self, prices: Prices) -> float:
        """At most what the board costs beyond what it can earn; infinity when nothing can be cut from it."""
        cuts, timber = self._instance.cuts, self.timber
        stave = np.array([prices.stave[fit.demand.index] for fit in self._fits])
        per_mm = np.array(
            [prices.most[fit.demand.index] + prices.least[fit.demand.index] for fit in self._fits]
        )
        rows: list[tuple[int, int, int, float]] = []
        known: dict[tuple[tuple[int, int], ...], float] = {}
        for start, end, step, longest, held in self._spans:
            # What a strip of a longer section gives beyond this, the gap beside the shorter one gives too.
            credited = min(longest, step + cuts.offcut_length + 2 * cuts.kerf)
            strip = self._rate * credited if longest >= cuts.offcut_length else 0.0
            key = (*held, (-1, credited))
            if key not in known:
                cells = [row for k, n in held for row in self._rows[k][n][0]]
                costs = [cost for k, n in held for cost in self._rows[k][n][1]]
                known[key] = (
                    float(
                        section_earnings(
                            np.array(cells, dtype=np.int64),
                            np.array(costs),
                            len(cells),
                            self._margins,
                            stave,
                            per_mm,
                            timber.width,
                            cuts.kerf,
                            cuts.offcut_width,
                            strip,
                        )
                    )
                    if cells
                    else NOTHING
                )
            if known[key] > NOTHING:
                rows.append((start, end, step, known[key]))
        if not rows:
            return float("inf")
        starts, ends, steps = (np.array([row[i] for row in rows], dtype=np.int64) for i in range(3))
        values = np.array([row[3] for row in rows])
        earned = board_earnings(
            starts, ends, steps, values, timber.length, cuts.kerf, cuts.offcut_length, self._credit
        )
        return self._instance.board_cost(timber) - float(earned)

    def _cells(self, kind: int, regime: int) -> tuple[list[tuple[int, ...]], list[float]]:
        fit = self._fits[kind]
        low, high = fit.low_allowance, fit.high_allowance
        cells = fit.regimes[1][regime]
        return [
            (
                kind,
                cell.low - low,
                cell.low_last - low,
                cell.high_first + high,
                cell.high + high,
                cell.narrowest,
                cell.widest,
            )
            for cell in cells
        ], [cell.cost for cell in cells]

    def _list_spans(self) -> list[tuple[int, int, int, int, tuple[tuple[int, int], ...]]]:
        """First and last start, least and greatest length, and the regimes that staves may lie in."""
        first, room = self._instance.cuts.end_loss, self.timber.length - self._instance.cuts.end_loss
        spans = []
        for longest in sorted({fit.rough_length for fit in self._fits}):
            most = room - first
            limits = [longest, *(longest + more for more in RANGES[1:]), most]
            least = longest
            for greatest in sorted({min(limit, most) for limit in limits}):
                if least > greatest:
                    continue
                spans += self._spans_of(longest, least, greatest, first, room - least)
                least = greatest + 1
        return spans

    def _spans_of(
        self, longest: int, least: int, greatest: int, first: int, last: int
    ) -> list[tuple[int, int, int, int, tuple[tuple[int, int], ...]]]:
        kinds = [k for k, fit in enumerate(self._fits) if fit.rough_length <= longest]
        changes = {first}
        for k in kinds:
            slide = greatest - self._fits[k].rough_length
            for start in self._fits[k].regimes[0]:
                changes |= {start, start - slide}
        marks = sorted(x for x in changes if first <= x <= last)
        found = []
        for start, following in zip(marks, [*marks[1:], last + 1], strict=True):
            held = []
            for k in kinds:
                fit = self._fits[k]
                firsts = fit.regimes[0]
                low = max(start, fit.first_start)
                high = min(following - 1 + greatest - fit.rough_length, fit.last_start)
                if low <= high:
                    one, other = bisect_right(firsts, low) - 1, bisect_right(firsts, high) - 1
                    held += [(k, n) for n in range(one, other + 1)]
            found.append((start, following - 1, least, greatest, tuple(held)))
        return found


def lowest_cost(
    boards: Sequence[Earnings], demands: Sequence[Demand], prices: Prices, deadline: float
) -> float:
    """No plan that makes all of `demands` costs less than this; -inf when time runs out first.

    boards: all that could serve any of them.
    """
    total = 0.0
    for demand in demands:
        stave = prices.stave[demand.index]
        per_mm = prices.most[demand.index] + prices.least[demand.index]
        total += per_mm * demand.width + stave * (demand.least if stave > 0 else demand.most)
    for board in boards:
        if monotonic() > deadline:
            return -inf
        total += min(0.0, board.cost_less_earnings(prices))
    return total
