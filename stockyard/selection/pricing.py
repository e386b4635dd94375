"""The best that one board can do at given prices: what the relaxation asks of each board, over and over.

Prices are worth paid for each stave of a kind and for each mm of its finished width. Priced are cuttings
whose sections are each as long as their longest stave. How many of a panel's staves are outer ones is not
minded, and strips are credited as if clear: both only make a cutting look cheaper than it is, which a bound
may do.
"""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from stockyard.selection.bundles import counting
from stockyard.selection.clear import along
from stockyard.selection.contents import Content, Kind
from stockyard.selection.pricingkernels import price_after, price_along, price_section, price_sections
from stockyard.selection.ripping import HIGH_ALLOWANCE, KIND, Floats, Ints
from stockyard.selection.sections import Sections

Worth = Mapping[Kind, float]

CLOSE = 1e-9
_NOTHING = np.zeros((1, 0, 1, 3), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Cutting:
    """A cutting the pricing found: what it costs, its staves by kind, the width it gives each panel."""

    timber: int
    cost: float
    kinds: tuple[tuple[Kind, int], ...]
    widths: tuple[tuple[int, int], ...]
    spans: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Within:
    """Sections that may be needed, by start and best first, and what is to come by start and tally."""

    spans: list[tuple[int, int]]
    ranked: list[tuple[int, int]]
    to_come: dict[int, Floats]


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
        self._counting = counting(instance, sections.kinds, timber)
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

    def best(self, worth: Worth, prices: Mapping[int, float]) -> tuple[float, Cutting | None]:
        """The least cost less worth of cutting the board, and a cutting that has it.

        worth: of a stave, by kind. prices: of a mm of width, by panel's index.
        """
        costs, per_mm, by_kind, values = self._values(worth, prices)
        began = np.zeros((len(self.spans), len(self._counting.fits)))
        total = self._cost + price_along(*self._line(values), began, _NOTHING[0])
        if total >= -CLOSE:
            return total, None
        by = np.zeros((self.sections.timber.length + 2, len(self._counting.fits), 3), dtype=np.int64)
        price_along(*self._line(values), began, by)
        return total, self._read(by, costs, per_mm, by_kind, total)

    def within(self, worth: Worth, prices: Mapping[int, float], limit: float) -> "Within":
        """The sections that some cutting of the board with cost less worth up to `limit` may have."""
        *_, values = self._values(worth, prices)
        began = np.zeros((len(self.spans), len(self._counting.fits)))
        onto = np.full(began.shape, np.inf)
        price_along(*self._line(values), began, _NOTHING[0])
        price_after(*self._line(values), onto)
        totals = (self._cost + began + onto).min(axis=1)
        kept = np.nonzero(totals <= limit)[0]
        to_come: dict[int, Floats] = {}
        for s in kept:
            x0 = self.spans[int(s)][0]
            to_come[x0] = np.minimum(to_come[x0], onto[s]) if x0 in to_come else onto[s]
        ranked = sorted(kept, key=lambda s: (totals[s], s))
        return Within([self.spans[int(s)] for s in kept], [self.spans[int(s)] for s in ranked], to_come)

    def tally_of(self, content: Content) -> int:
        """The place of a content's tally in what `within` says is to come."""
        return self._counting.tally_of(content)

    def _line(self, values: Floats) -> tuple[int, int, int, Floats, Ints, Ints, Ints, Floats, Ints, Ints]:
        timber, cuts = self.sections.timber, self.sections.instance.cuts
        least = cuts.offcut_length if self._credit[-1] > 0 else 4 * timber.length
        counting = self._counting
        return (
            timber.length,
            cuts.kerf,
            least,
            self._credit,
            self._starts,
            self._ends,
            self._which,
            values,
            counting.plus,
            counting.fits,
        )

    def _values(self, worth: Worth, prices: Mapping[int, float]) -> tuple[Floats, Floats, Floats, Floats]:
        """Each cell's cost less its kind's worth, the price of a mm and worth by kind, sections' values."""
        timber, kinds, cuts = self.sections.timber, self.sections.kinds, self.sections.instance.cuts
        by_kind = np.array([worth.get(kind, 0.0) for kind in kinds.kinds])
        per_mm = np.array([prices.get(kind[0], 0.0) for kind in kinds.kinds])
        costs = self._all_costs - by_kind[self._all_cells[:, KIND]]
        values = np.full((len(self._rates), len(self._counting.onward)), np.inf)
        price_sections(
            timber.width,
            cuts.kerf,
            cuts.offcut_width,
            self._rates,
            self._firsts,
            self._all_cells,
            costs,
            per_mm,
            self._counting.panels,
            self._counting.onward,
            values,
        )
        return costs, per_mm, by_kind, values

    def _read(self, by: Ints, costs: Floats, per_mm: Floats, by_kind: Floats, reduced: float) -> Cutting:
        """The cutting that a traced run found best."""
        kinds, timber, cuts = self.sections.kinds, self.sections.timber, self.sections.instance.cuts
        counts: dict[Kind, int] = {}
        widths: dict[int, int] = {}
        spans: list[tuple[int, int]] = []
        cost = reduced
        x, tally = int(by[-1, 0, 0]), int(by[-1, 0, 1])
        while tally:
            span, bundle, x = (int(v) for v in by[x, tally])
            tally -= int(self._counting.plus[bundle])
            spans.append(self.spans[span])
            s = int(self._which[span])
            a, b = int(self._firsts[s]), int(self._firsts[s + 1])
            shape = (len(self._counting.onward), 2, timber.width + 2, 5)
            trace = np.zeros(shape, dtype=np.int64)
            price_section(
                timber.width,
                cuts.kerf,
                cuts.offcut_width if self._rates[s] > 0 else 2 * timber.width,
                float(self._rates[s]),
                self._all_cells[a:b],
                costs[a:b],
                per_mm,
                self._counting.panels,
                self._counting.onward,
                np.full(shape[0], np.inf),
                trace,
            )
            top, touch = int(trace[bundle, 1, -1, 0]), 1
            while bundle:
                n, low, bundle, touch, below = (int(v) for v in trace[bundle, touch, top])
                cell = self._all_cells[a + n]
                k, width = int(cell[KIND]), top - int(cell[HIGH_ALLOWANCE]) - low
                kind = kinds.kinds[k]
                counts[kind] = counts.get(kind, 0) + 1
                widths[kind[0]] = widths.get(kind[0], 0) + width
                cost += float(by_kind[k]) + float(per_mm[k]) * width
                top = below
        return Cutting(
            timber.index,
            cost,
            tuple(sorted(counts.items())),
            tuple(sorted(widths.items())),
            tuple(spans),
        )
