"""Whole ways of cutting one board: sections one after another along it, each with one content.

Widths are chosen section by section, so a way of cutting, a *line*, is its sections' tables and what the
board and the gaps cost. Of lines that give the same contents, one is needless when another costs no more
whatever the widths; and of lines begun, that holds up to each place along the board, since what may follow is
the same for all that end there. Where prices and a limit are given, lines are dropped that cannot be part of
a cutting whose cost exceeds its worth by less than the limit.
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
from stockyard.selection.sections import Sections

CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Given:
    """A section of a line: where it lies, its content, and the number of its table."""

    content: Content
    table: int
    x0: int
    x1: int


@dataclass(frozen=True, slots=True)
class Line:
    """Sections in order of their contents. cost: of board and gaps; least: of all, less worth, at best."""

    given: tuple[Given, ...]
    cost: float
    least: float
    total: Content


@dataclass(frozen=True, slots=True)
class Limits:
    """What need not be looked at: worth of a content at each width, least to come by start, and the limit.

    contents: those that a section from here to there may have to hold.
    """

    worth: Callable[[Content, tuple[int, ...]], Floats]
    to_come: Callable[[int, Content], float]
    limit: float
    contents: Callable[[int, int], frozenset[Content]]


class Lines:
    """Every line of one board that may be needed."""

    def __init__(
        self,
        sections: Sections,
        spans: Iterable[tuple[int, int]],
        limits: Limits | None = None,
        deadline: float = inf,
    ) -> None:
        self.sections, self.limits = sections, limits
        instance, timber = sections.instance, sections.timber
        self._kerf, self._length = instance.cuts.kerf, timber.length
        self._least = instance.cuts.offcut_length
        self._rate = instance.credit_rate(timber) if timber.width >= instance.cuts.offcut_width else 0.0
        area = along(timber.blots, timber.length, timber.width)
        self._area = np.interp(np.arange(timber.length + 1), area.knots, area.areas)
        self.tables: list[Floats] = []
        self.best: list[float] = []  # of each table, least cost less worth
        self._numbers: dict[tuple[Content, bytes], int] = {}
        self._excess: dict[tuple[int, int], float] = {}
        self.complete = True  # False when the deadline cut it short
        start = instance.board_cost(timber)
        nothing: Content = (0,) * len(sections.kinds.kinds)
        self.lines = self._along(Line((), start, start, nothing), spans, deadline)

    def _credit(self, start: int, end: int) -> float:
        if end - start < self._least or self._rate == 0:
            return 0.0
        return self._rate * float(self._area[end] - self._area[start])

    def _along(self, nothing: Line, spans: Iterable[tuple[int, int]], deadline: float) -> list[Line]:
        by_start: dict[int, list[int]] = defaultdict(list)
        for x0, x1 in spans:
            by_start[x0].append(x1)
        # What ended a kerf ago or more; what ended so long ago that the gap is an offcut, its credit to come.
        ended: dict[int, _Kept] = {}
        close, apart, whole = _Kept(self), _Kept(self), _Kept(self)
        waiting: list[tuple[int, bool, int]] = []
        wide = 2 * self._kerf + self._least
        for x0 in sorted(by_start):
            if monotonic() > deadline:
                self.complete = False
                break
            while waiting and waiting[0][0] <= x0:
                _, is_apart, x1 = heappop(waiting)
                owed = self._rate * float(self._area[x1 + self._kerf]) if is_apart else 0.0
                for line in ended[x1]:
                    (apart if is_apart else close).add(line, owed)
            begun = _Kept(self)
            begun.add(nothing, -self._credit(0, x0 - self._kerf))
            for line in close:
                begun.add(line, 0.0)
            for line in apart:
                begun.add(line, -self._rate * float(self._area[x0 - self._kerf]))
            for x1 in by_start[x0]:
                if monotonic() > deadline:
                    self.complete = False
                    break
                given = self._given(x0, x1)
                if not given:
                    continue
                if x1 not in ended:
                    ended[x1] = _Kept(self)
                    heappush(waiting, (x1 + self._kerf, False, x1))
                    if self._rate > 0 and x1 + wide <= self._length:
                        heappush(waiting, (x1 + wide, True, x1))
                for line in begun:
                    if self._hopeless(line, x0):
                        continue
                    for new in given:
                        longer = self._longer(line, new)
                        if longer is not None:
                            ended[x1].add(longer, 0.0)
        for x1, lines in ended.items():
            for line in lines:
                whole.add(line, -self._credit(x1 + self._kerf, self._length))
        limit = inf if self.limits is None else self.limits.limit
        return [line for line in whole if line.least <= limit]

    def _hopeless(self, line: Line, x0: int) -> bool:
        limits = self.limits
        return limits is not None and line.least + limits.to_come(x0, line.total) > limits.limit

    def _longer(self, line: Line, new: Given) -> Line | None:
        total = tuple(a + b for a, b in zip(line.total, new.content, strict=True))
        if line.given and not self.sections.kinds.wanted(total):
            return None
        given = tuple(sorted((*line.given, new), key=lambda g: (g.content, g.table)))
        return Line(given, line.cost, line.least + self.best[new.table], total)

    def _given(self, x0: int, x1: int) -> list[Given]:
        """What a section gives, by content."""
        limits = self.limits
        only = None if limits is None else limits.contents(x0, x1)
        found = []
        for content, costs in self.sections.table(x0, x1, only).items():
            key = (content, costs.tobytes())
            if key not in self._numbers:
                worth = 0.0 if limits is None else limits.worth(content, costs.shape)
                self._numbers[key] = len(self.tables) if np.isfinite(costs).any() else -1
                if self._numbers[key] >= 0:
                    self.tables.append(costs)
                    self.best.append(float((costs - worth).min()))
            if self._numbers[key] >= 0:
                found.append(Given(content, self._numbers[key], x0, x1))
        return found

    def excess(self, one: int, other: int) -> float:
        """How much dearer one table is than another of the same content at most, over the other's widths."""
        if one == other:
            return 0.0
        key = (one, other)
        if key not in self._excess:
            mine, theirs = self.tables[one], self.tables[other]
            there = np.isfinite(theirs)
            self._excess[key] = float((mine[there] - theirs[there]).max())
        return self._excess[key]


class _Kept:
    """Lines of which none makes another needless."""

    def __init__(self, lines: Lines) -> None:
        self._lines = lines
        self._kept: dict[tuple[Content, ...], list[Line]] = {}

    def __iter__(self) -> Iterator[Line]:
        for kept in self._kept.values():
            yield from kept

    def add(self, line: Line, cost: float) -> None:
        """Keep a line that costs so much more, unless one there makes it needless."""
        key = tuple(given.content for given in line.given)
        kept = self._kept.setdefault(key, [])
        new_cost = line.cost + cost
        for old in kept:
            if old.cost + self._more(old, line) <= new_cost + CLOSE:
                return
        new = Line(line.given, new_cost, line.least + cost, line.total)
        kept[:] = [old for old in kept if new_cost + self._more(new, old) > old.cost + CLOSE]
        kept.append(new)

    def _more(self, one: Line, other: Line) -> float:
        return sum(
            self._lines.excess(mine.table, theirs.table)
            for mine, theirs in zip(one.given, other.given, strict=True)
        )
