"""The best that one board can do at given prices: what the relaxation asks of each board, over and over.

Prices are worth paid for each stave of a kind and for each mm of its finished width. Priced are cuttings
whose sections are each as long as their longest stave. What a panel can take is not minded, and strips are
credited as if clear: both only make a cutting look cheaper than it is, which a bound may do.
"""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stockyard.selection.clear import along
from stockyard.selection.contents import Kind
from stockyard.selection.ripping import (
    Floats,
    Ints,
    price_after,
    price_along,
    price_section,
    price_sections,
)
from stockyard.selection.sections import Sections

Worth = Mapping[Kind, float]


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cutting the pricing found: what it costs, its staves by kind, the width it gives each panel."""

    timber: int
    cost: float
    kinds: tuple[tuple[Kind, int], ...]
    widths: tuple[tuple[int, int], ...]
    spans: tuple[tuple[int, int], ...]


class Pricer:
    """One board, its sections listed once, priced again and again."""

    def __init__(self, sections: Sections) -> None:
        self.sections = sections
        instance, timber = sections.instance, sections.timber
        self._cost = timber.value + instance.handling
        rate = instance.credit_rate(timber)
        area = along(timber.blots, timber.length, timber.width)
        if timber.width >= instance.cuts.offcut_width:
            self._credit = rate * np.interp(np.arange(timber.length + 1), area.knots, area.areas)
        else:
            self._credit = np.zeros(timber.length + 1)
        numbers: dict[tuple[bytes, bytes, float], int] = {}
        self._cells: list[Ints] = []
        self._costs: list[Floats] = []
        rates: list[float] = []
        spans: list[tuple[int, int]] = []
        which: list[int] = []
        seen: dict[tuple[int, int], int] = {}  # by length and stretch, the section there
        changes: dict[int, list[int]] = {}
        for x0, x1 in sections.even_spans():
            length = x1 - x0
            if length not in changes:
                changes[length] = sections.even_changes(length)
            stretch = (length, bisect_right(changes[length], x0))
            if stretch not in seen:
                placed = sections.placed(x0, x1)
                if not any(p.touch == 3 for p in placed):
                    seen[stretch] = -1
                    continue
                cells, costs = sections.rows(placed)
                strip = rate * length if length >= instance.cuts.offcut_length else 0.0
                key = (cells.tobytes(), costs.tobytes(), strip)
                if key not in numbers:
                    numbers[key] = len(rates)
                    rates.append(strip)
                    self._cells.append(cells)
                    self._costs.append(costs)
                seen[stretch] = numbers[key]
            if seen[stretch] >= 0:
                spans.append((x0, x1))
                which.append(seen[stretch])
        self.spans = spans
        self._starts = np.array([x0 for x0, _ in spans], dtype=np.int64)
        self._ends = np.array([x1 for _, x1 in spans], dtype=np.int64)
        self._which = np.array(which, dtype=np.int64)
        self._rates = np.array(rates, dtype=np.float64)
        self._firsts = np.cumsum([0, *(len(cells) for cells in self._cells)], dtype=np.int64)
        if rates:
            self._all_cells, self._all_costs = np.concatenate(self._cells), np.concatenate(self._costs)

    @property
    def empty(self) -> bool:
        """Has the board no section at all?"""
        return not self.spans

    def best(self, worth: Worth, prices: Mapping[int, float]) -> tuple[float, Cutting]:
        """The least cost less worth of cutting the board, and a cutting that has it.

        worth: of a stave, by kind. prices: of a mm of width, by panel's index.
        """
        costs, per_mm, by_kind, values = self._values(worth, prices)
        began = np.zeros(len(self.spans))
        before = np.zeros(len(self.spans) + 1, dtype=np.int64)
        total = price_along(*self._line(), values, began, before)
        return self._cost + total, self._read(before, costs, per_mm, by_kind, self._cost + total)

    def within(self, worth: Worth, prices: Mapping[int, float], limit: float) -> list[tuple[int, int]]:
        """The sections that some cutting of the board with cost less worth up to `limit` may have."""
        *_, values = self._values(worth, prices)
        began = np.zeros(len(self.spans))
        after = np.zeros(len(self.spans))
        price_along(*self._line(), values, began, np.zeros(len(self.spans) + 1, dtype=np.int64))
        price_after(*self._line(), values, after)
        kept = np.nonzero(self._cost + began + values + after <= limit)[0]
        return [self.spans[int(s)] for s in kept]

    def _line(self) -> tuple[int, int, int, Floats, Ints, Ints]:
        timber, cuts = self.sections.timber, self.sections.instance.cuts
        least = cuts.offcut_length if self._credit[-1] > 0 else 4 * timber.length
        return timber.length, cuts.kerf, least, self._credit, self._starts, self._ends

    def _values(self, worth: Worth, prices: Mapping[int, float]) -> tuple[Floats, Floats, Floats, Floats]:
        """Each cell's cost less its kind's worth, the price of a mm and worth by kind, each span's value."""
        timber, kinds, cuts = self.sections.timber, self.sections.kinds, self.sections.instance.cuts
        by_kind = np.array([worth.get(kind, 0.0) for kind in kinds.kinds])
        per_mm = np.array([prices.get(kind[0], 0.0) for kind in kinds.kinds])
        costs = self._all_costs - by_kind[self._all_cells[:, 4]]
        values = np.zeros(len(self._rates))
        price_sections(
            timber.width,
            cuts.kerf,
            cuts.offcut_width,
            self._rates,
            self._firsts,
            self._all_cells,
            costs,
            per_mm,
            values,
        )
        return costs, per_mm, by_kind, values[self._which]

    def _read(self, before: Ints, costs: Floats, per_mm: Floats, by_kind: Floats, reduced: float) -> Cutting:
        kinds, timber, cuts = self.sections.kinds, self.sections.timber, self.sections.instance.cuts
        counts: dict[Kind, int] = {}
        widths: dict[int, int] = {}
        spans: list[tuple[int, int]] = []
        cost = reduced
        at = int(before[-1])
        while at >= 0:
            spans.append(self.spans[at])
            s = int(self._which[at])
            a, b = int(self._firsts[s]), int(self._firsts[s + 1])
            trace = np.zeros((timber.width + 2, 2, 4), dtype=np.int64)
            room = cuts.offcut_width if self._rates[s] > 0 else 2 * timber.width
            price_section(
                timber.width,
                cuts.kerf,
                room,
                float(self._rates[s]),
                self._all_cells[a:b],
                costs[a:b],
                per_mm,
                trace,
            )
            top, touch = int(trace[-1, 0, 0]), 1
            while top >= 0:
                n, low, below, t = (int(v) for v in trace[top, touch])
                cell = self._all_cells[a + n]
                k = int(cell[4])
                width = top - int(cell[6]) - low
                kind = kinds.kinds[k]
                counts[kind] = counts.get(kind, 0) + 1
                widths[kind[0]] = widths.get(kind[0], 0) + width
                cost += float(by_kind[k]) + float(per_mm[k]) * width
                top, touch = below, t
            at = int(before[at])
        return Cutting(
            timber.index, cost, tuple(sorted(counts.items())), tuple(sorted(widths.items())), tuple(spans)
        )
