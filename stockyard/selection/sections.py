"""Ripping the sections of one board: which cells lie in a section, and what each content then costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from stockyard.selection.cells import Cell, Fit, covers
from stockyard.selection.clear import across
from stockyard.selection.contents import (
    Content,
    Kinds,
    Layout,
    kind_of,
    kinds_of,
    parts_of,
    section_layout,
)
from stockyard.selection.instance import Instance, Timber
from stockyard.selection.judging import faces_differ
from stockyard.selection.places import section_places
from stockyard.selection.ripping import Floats, Ints, rip, traced


@dataclass(frozen=True, slots=True)
class Placed:
    """A stave's cell in a section; touch has bit 1 where it starts with the section, bit 2 where it ends."""

    fit: Fit
    start: int
    cell: Cell
    touch: int


@dataclass(frozen=True, slots=True)
class Lying:
    """A stave as it is cut: where it starts along the board, its finished low and high edge."""

    fit: Fit
    start: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Docked:
    """A section of a board as it is cut."""

    timber: int
    x0: int
    x1: int
    staves: tuple[Lying, ...]


class Sections:
    """The sections of one board that can serve in these ways.

    mixed: with staves of several panels side by side too.
    """

    def __init__(
        self,
        instance: Instance,
        timber: Timber,
        fits: Sequence[Fit],
        *,
        mixed: bool = True,
    ) -> None:
        self.instance, self.timber, self.fits = instance, timber, fits
        self._mixed = mixed
        self._differ = faces_differ(instance, timber)
        self.kinds: Kinds = kinds_of(instance, fits, differ=self._differ)
        self._tables: dict[tuple[object, ...], dict[Content, Floats]] = {}
        self._layouts: dict[frozenset[Content] | None, Layout] = {}

    def layout(self, only: frozenset[Content] | None = None) -> Layout:
        """Every content that can lie side by side, or of those only these and what they are made up from."""
        if only not in self._layouts:
            parts = None if only is None else parts_of(only)
            self._layouts[only] = section_layout(
                self.kinds, self.timber.width, self.instance.cuts.kerf, mixed=self._mixed, only=parts
            )
        return self._layouts[only]

    def spans(self) -> list[tuple[int, int]]:
        """From where to where a section may need to run, in order of starts."""
        if self.lone:  # each section is one stave, and as long
            return self.even_spans()
        starts, ends = self.places
        least = min(fit.rough_length for fit in self.fits)
        return [(x0, x1) for x0 in starts for x1 in ends if x1 - x0 >= least]

    def even_spans(self) -> list[tuple[int, int]]:
        """The spans that are just as long as a stave."""
        starts, ends = self.places
        lengths, reachable = sorted({fit.rough_length for fit in self.fits}), set(ends)
        return [(x, x + length) for x in starts for length in lengths if x + length in reachable]

    @property
    def lone(self) -> bool:
        """Is the board too narrow for two staves side by side?"""
        return self.timber.width < 2 * min(self.kinds.rough) + self.instance.cuts.kerf

    @cached_property
    def places(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """All x at which a section needs to start, and all at which one needs to end, in order."""
        return section_places(self.instance, self.timber, self.fits, lone=self.lone)

    def table(self, x0: int, x1: int, only: frozenset[Content] | None = None) -> dict[Content, Floats]:
        """The least cost by content, and by its widths, of a section that runs just from x0 to x1."""
        placed = self.placed(x0, x1)
        touches = {p.touch for p in placed}
        if not (touches & {1, 3} and touches & {2, 3}):
            return {}
        cells, costs = self.rows(placed)
        credit, least = self._credit(x0, x1)
        return self.ripped(cells, costs, credit, least, only)

    def ripped(
        self, cells: Ints, costs: Floats, credit: Floats, least: int, only: frozenset[Content] | None
    ) -> dict[Content, Floats]:
        """The least cost by content, and by its widths, of a section with these cells and strip credits."""
        key = (cells.tobytes(), costs.tobytes(), credit.tobytes(), least, only)
        if key not in self._tables:
            layout = self.layout(only)
            table = self._rip(layout, cells, costs, credit, least, np.zeros((0,) * 5, dtype=np.int64))
            self._tables[key] = {
                content: table[number, 3, : layout.sizes[number]].reshape(layout.shapes[number])
                for number, content in enumerate(layout.contents)
                if number and (only is None or content in only)
            }
        return self._tables[key]

    def lying(self, x0: int, x1: int, content: Content, index: int) -> list[Lying]:
        """The staves of a section's best row for a content and width index, from edge 1 up, if any."""
        placed = self.placed(x0, x1)
        cells, costs = self.rows(placed)
        credit, least = self._credit(x0, x1)
        layout = self.layout(frozenset((content,)))
        room = int(layout.sizes.max())
        trace = np.zeros((self.timber.width + 2, len(layout.contents), 4, room, 6), dtype=np.int64)
        table = self._rip(layout, cells, costs, credit, least, trace)
        number = layout.contents.index(content)
        if not np.isfinite(table[number, 3, index]):
            return []
        return [
            Lying(placed[n].fit, placed[n].start, low, top - placed[n].fit.high_allowance)
            for n, low, top in traced(trace, number, 3, index)
        ]

    def _rip(
        self, layout: Layout, cells: Ints, costs: Floats, credit: Floats, least: int, trace: Ints
    ) -> Floats:
        table = np.full((len(layout.contents), 4, int(layout.sizes.max())), np.inf)
        rip(
            self.timber.width,
            self.instance.cuts.kerf,
            least,
            credit,
            cells,
            costs,
            layout.onward,
            layout.sizes,
            layout.counts,
            layout.strides,
            layout.lift,
            layout.spare,
            layout.step,
            layout.base,
            table,
            trace,
        )
        return table

    def _credit(self, x0: int, x1: int) -> tuple[Floats, int]:
        """What the section's strip up to each y is credited with, and the least width of an offcut."""
        width, cuts = self.timber.width, self.instance.cuts
        rate = self.instance.credit_rate(self.timber)
        if x1 - x0 < cuts.offcut_length or rate == 0:
            return np.zeros(width + 1), 2 * width
        profile = across(self.timber.blots, x0, x1, width)
        return rate * np.interp(np.arange(width + 1), profile.knots, profile.areas), cuts.offcut_width

    def rows(self, placed: Sequence[Placed]) -> tuple[Ints, Floats]:
        """Cells and their costs as the kernels read them."""
        rows = [
            (
                p.cell.low,
                p.cell.low_last,
                p.cell.high_first,
                p.cell.high,
                self.kinds.of(kind_of(p.fit, self._differ)),
                p.fit.low_allowance,
                p.fit.high_allowance,
                p.fit.narrowest,
                p.fit.widest,
                p.touch,
            )
            for p in placed
        ]
        return np.array(rows, dtype=np.int64), np.array([p.cell.cost for p in placed], dtype=np.float64)

    def placed(self, x0: int, x1: int) -> list[Placed]:
        """Every stave that can lie in [x0, x1], less those that another makes needless."""
        groups: dict[tuple[object, ...], list[Placed]] = {}
        for fit in self.fits:
            last = x1 - fit.rough_length
            if last < x0 or x0 < fit.first_start or last > fit.last_start:
                continue
            group = groups.setdefault((fit.demand.index, fit.role, fit.show if self._differ else None), [])
            for start in sorted({x0, last, *fit.places_between(x0, last)}):
                touch = (start == x0) | (start == last) << 1
                for cell in fit.cells(start):
                    new = Placed(fit, start, cell, touch)
                    if not any(_makes_needless(other, new) for other in group):
                        group[:] = [other for other in group if not _makes_needless(new, other)]
                        group.append(new)
        return [p for group in groups.values() for p in group]


def _makes_needless(one: Placed, other: Placed) -> bool:
    return one.touch | other.touch == one.touch and covers(one.cell, other.cell)
