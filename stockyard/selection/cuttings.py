"""Whole ways of cutting one board: sections one after another along it, with what each content costs.

Only what a cutting gives its panels and what it costs matters to the rest of the plan, so for each content
and each total width the cheapest is kept, and of a board begun only that up to each place along it: what may
follow is the same for all that end there.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf
from time import monotonic

import numpy as np

from stockyard.selection.clear import along
from stockyard.selection.contents import Content
from stockyard.selection.ripping import Floats
from stockyard.selection.sections import Lying, Sections

CLOSE = 1e-9

Tables = dict[Content, Floats]  # by content, the cost of each total width of each demand


@dataclass(frozen=True, slots=True)
class Docked:
    """A section of a board as it is cut."""

    timber: int
    x0: int
    x1: int
    staves: tuple[Lying, ...]


class Cuttings:
    """Every way of cutting one board that may be needed."""

    def __init__(
        self,
        sections: Sections,
        spans: Iterable[tuple[int, int]],
        *,
        useful: Callable[[Content, Floats], bool] | None = None,
        deadline: float = inf,
    ) -> None:
        self.sections = sections
        self.kinds = sections.kinds
        instance, timber = sections.instance, sections.timber
        self._kerf, self._length = instance.cuts.kerf, timber.length
        self._least = instance.cuts.offcut_length
        self._rate = instance.credit_rate(timber) if timber.width >= instance.cuts.offcut_width else 0.0
        area = along(timber.blots, timber.length, timber.width)
        self._area = np.interp(np.arange(timber.length + 1), area.knots, area.areas)
        self._cost = timber.value + instance.handling
        self._nothing: Content = (0,) * len(self.kinds.kinds)
        self._useful = useful
        self._begun: dict[int, Tables] = {}  # by start of the next section
        self._ended: dict[int, Tables] = defaultdict(dict)  # by end of the last
        self._by_end: dict[int, list[int]] = defaultdict(list)  # starts of sections, by their end
        self.complete = True  # False when the deadline cut it short
        self.tables: Tables = self._along(spans, deadline)

    def _credit(self, start: int, end: int) -> float:
        if end - start < self._least or self._rate == 0:
            return 0.0
        return self._rate * float(self._area[end] - self._area[start])

    def _along(self, spans: Iterable[tuple[int, int]], deadline: float) -> Tables:
        by_start: dict[int, list[int]] = defaultdict(list)
        for x0, x1 in spans:
            by_start[x0].append(x1)
        # What ended a kerf ago or more; what ended so long ago that the gap is an offcut, its credit to come.
        close: Tables = {}
        apart: Tables = {}
        wide = 2 * self._kerf + self._least
        waiting: list[tuple[int, bool, int]] = []
        for x0 in sorted(by_start):
            if monotonic() > deadline:
                self.complete = False
                break
            while waiting and waiting[0][0] <= x0:
                _, is_apart, x1 = heappop(waiting)
                if is_apart:
                    owed = self._rate * float(self._area[x1 + self._kerf])
                    for content, costs in self._ended[x1].items():
                        _lower(apart, content, costs + owed)
                else:
                    for content, costs in self._ended[x1].items():
                        _lower(close, content, costs)
            begun = self._begun[x0] = self._before(x0, close, apart)
            for x1 in by_start[x0]:
                given = self._given(x0, x1)
                if not given:
                    continue
                self._by_end[x1].append(x0)
                if x1 not in self._ended:
                    heappush(waiting, (x1 + self._kerf, False, x1))
                    if self._rate > 0 and x1 + wide <= self._length:
                        heappush(waiting, (x1 + wide, True, x1))
                for content, costs in given:
                    for before, so_far in begun.items():
                        self._join(self._ended[x1], before, so_far, content, costs)
        whole: Tables = {}
        for x1, ended in self._ended.items():
            for content, costs in ended.items():
                _lower(whole, content, costs - self._credit(x1 + self._kerf, self._length))
        return whole

    def _before(self, x0: int, close: Tables, apart: Tables) -> Tables:
        """The least cost of all before a section that starts at x0, the gap before it credited."""
        start = self._cost - self._credit(0, x0 - self._kerf)
        begun: Tables = {self._nothing: np.full((1,) * len(self.kinds.demands), start)}
        for content, costs in close.items():
            _lower(begun, content, costs)
        if apart:
            owed = self._rate * float(self._area[x0 - self._kerf])
            for content, costs in apart.items():
                _lower(begun, content, costs - owed)
        if self._useful is not None:
            begun = {c: costs for c, costs in begun.items() if self._useful(c, costs)}
        return begun

    def _given(self, x0: int, x1: int) -> list[tuple[Content, Floats]]:
        """What a section gives, by content."""
        layout, table = self.sections.layout, self.sections.table(x0, x1)
        if table is None:
            return []
        found = []
        for number in range(1, len(layout.contents)):
            costs = table[number, : layout.sizes[number]]
            if np.isfinite(costs).any():
                found.append((layout.contents[number], costs.reshape(layout.shapes[number])))
        return found

    def _join(self, into: Tables, before: Content, so_far: Floats, content: Content, costs: Floats) -> None:
        """Lower `into` to the sums of two tables over all ways to share out the widths."""
        both = tuple(a + b for a, b in zip(before, content, strict=True))
        if not self.kinds.wanted(both):
            return
        shape = self.kinds.shape(both)
        if both not in into:
            into[both] = np.full(shape, np.inf)
        table = into[both]
        for place in zip(*np.nonzero(np.isfinite(so_far)), strict=True):
            window = tuple(
                slice(int(at), min(int(at) + size, limit))
                for at, size, limit in zip(place, costs.shape, shape, strict=True)
            )
            if all(cut.start < cut.stop for cut in window):
                part = tuple(slice(0, cut.stop - cut.start) for cut in window)
                np.minimum(table[window], so_far[place] + costs[part], out=table[window])

    def docked(self, content: Content, place: tuple[int, ...]) -> list[Docked]:
        """The sections of the cheapest cutting that gives this content and these widths."""
        cost = float(self.tables[content][place])
        for x1, ended in self._ended.items():
            if content in ended:
                at = ended[content][place] - self._credit(x1 + self._kerf, self._length)
                if at <= cost + CLOSE:
                    return self._back(x1, content, place)
        raise AssertionError("a table without a cutting behind it")

    def _back(self, x1: int, content: Content, place: tuple[int, ...]) -> list[Docked]:
        """The sections up to the one that ends at x1."""
        cost = float(self._ended[x1][content][place])
        for x0 in self._by_end[x1]:
            for given, costs in self._given(x0, x1):
                before = tuple(a - b for a, b in zip(content, given, strict=True))
                if before not in self._begun[x0]:
                    continue
                so_far = self._begun[x0][before]
                for left, index in _shares(place, so_far, costs):
                    if so_far[left] + costs[index] <= cost + CLOSE:
                        return [*self._up_to(x0, before, left), self._as_docked(x0, x1, given, index)]
        raise AssertionError("a table without a section behind it")

    def _up_to(self, x0: int, content: Content, place: tuple[int, ...]) -> list[Docked]:
        if content == self._nothing:
            return []
        cost = float(self._begun[x0][content][place])
        for x1, ended in self._ended.items():
            if x1 + self._kerf <= x0 and content in ended:
                at = ended[content][place] - self._credit(x1 + self._kerf, x0 - self._kerf)
                if at <= cost + CLOSE:
                    return self._back(x1, content, place)
        raise AssertionError("a table without a beginning behind it")

    def _as_docked(self, x0: int, x1: int, content: Content, place: tuple[int, ...]) -> Docked:
        layout = self.sections.layout
        number = layout.contents.index(content)
        index = int(np.ravel_multi_index(place, layout.shapes[number]))
        staves = self.sections.lying(x0, x1, number, index)
        return Docked(self.sections.timber.index, x0, x1, tuple(staves))


def _lower(tables: Tables, content: Content, costs: Floats) -> None:
    if content in tables:
        np.minimum(tables[content], costs, out=tables[content])
    else:
        tables[content] = costs.copy()


def _shares(
    place: tuple[int, ...], so_far: Floats, costs: Floats
) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every way in which two tables' width indices add up to `place`."""
    for index in np.ndindex(costs.shape):
        left = tuple(a - b for a, b in zip(place, index, strict=True))
        if all(0 <= at < size for at, size in zip(left, so_far.shape, strict=True)):
            yield left, index
