"""Every way of cutting one board within a limit: which sections, told apart by what they can give for what.

A *piece* is a content in the sections of one span, with the least cost of each of its widths. Pieces whose
costs differ by the same amount at all widths have one *table*; how much more one costs here than there is
what it costs *extra* at its place. Within a span the extra is linear along the board: each lawful stack's
cost is, and where the two ends of the span have the same table, so has all between. A *skeleton* is a
number of tables, each with its place; sub-skeletons are gone through by size, each with the least cost of
everything that ends at each place, so that neither orders nor places along the board are listed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from time import monotonic

import numpy as np

from stockyard.selection.contentkernels import begun_costs, extended, thinned
from stockyard.selection.contents import Content
from stockyard.selection.lines import CLOSE, Given, Limits, Line
from stockyard.selection.narrowing import Near
from stockyard.selection.pricingkernels import strip_credit
from stockyard.selection.ripping import Floats

MOST_SKELETONS = 20_000
ALIKE = 1e-9  # extras closer than this make one table


@dataclass
class _Table:
    content: Content
    step: int
    costs: Floats
    extra: Floats  # by start along the board
    best: float  # least cost less worth, without the extra


_Reached = tuple[
    Floats, Content, float
]  # costs by place, all that it gives, least cost of its tables less worth
_Layer = dict[tuple[int, ...], _Reached]  # by tables, those with as many sections


class Skeletons:
    """The lines of one board within a limit, as `offers_of` reads them.

    most: pieces, each of one panel's staves, and skeletons of one size, that are gone on with, the best; None
    for all of all.

    complete: False where the deadline or their number cut the listing short. exact: False where some costs
    may be less than they truly are.
    """

    def __init__(self, near: Near, limits: Limits, deadline: float = inf, most: int | None = None) -> None:
        self._most = most
        self.sections, self.limits = near.sections, limits
        self._near, self._deadline = near, deadline
        self.complete, self.exact = near.complete, True
        self._tables: list[_Table] = []
        self._dearer: dict[tuple[int, int], float] = {}
        self._wanted: dict[Content, bool] = {}
        self._list_tables()
        self.tables = [table.costs for table in self._tables]
        self.best = [table.best for table in self._tables]
        self.lines = self._grow()

    def _list_tables(self) -> None:
        near, numbers = self._near, {}
        survey = near.best.survey
        pieces = sorted(near.pieces(), key=lambda piece: (-piece[2], piece[:2]))
        if self._most is not None:
            alone = [piece for piece in pieces if len(self.sections.kinds.demands_of(piece[1])) == 1]
            self.complete = self.complete and len(pieces) == len(alone) <= self._most
            pieces = alone[: self._most]
        by_span: dict[int, list[Content]] = {}
        for span, content, _ in pieces:
            by_span.setdefault(span, []).append(content)
        for span, contents in sorted(by_span.items()):
            if monotonic() > self._deadline:
                self.complete = False
                return
            first, last, step = (int(n) for n in survey.spans[span, :3])
            low, high = self._at(span, contents, first), self._at(span, contents, last)
            for content in contents:
                one, other = low[content], high[content]
                base, top = float(one.min()), float(other.min())
                if base == inf or top == inf:
                    continue
                shape, same = one - base, other - top
                there = np.isfinite(shape)
                alike = np.array_equal(there, np.isfinite(same)) and bool(
                    np.abs(shape[there] - same[there]).max() <= ALIKE
                )
                if not alike:
                    shape, top = np.minimum(one, other), 0.0
                    base, shape = float(shape.min()), shape - shape.min()
                    top, self.exact = base, False
                key = (content, step, np.round(shape, 7).tobytes())
                if key not in numbers:
                    numbers[key] = len(self._tables)
                    worth = self.limits.worth(content, shape.shape)
                    self._tables.append(
                        _Table(
                            content,
                            step,
                            shape,
                            np.full(survey.timber.length + 1, inf),
                            float((shape - worth).min()),
                        )
                    )
                extra = self._tables[numbers[key]].extra
                along = np.linspace(base, top, last - first + 1)
                extra[first : last + 1] = np.minimum(extra[first : last + 1], along)
                if int(survey.spans[span, 4]):
                    self.exact = False

    def _at(self, span: int, contents: Sequence[Content], x0: int) -> Mapping[Content, Floats]:
        """Tables of these contents in a section of the span that starts at x0."""
        survey, sections = self._near.best.survey, self.sections
        cuts, width = survey.instance.cuts, survey.timber.width
        row = survey.spans[span].copy()
        row[6], row[7] = x0, x0 + row[2]
        credit = np.zeros(width + 1)
        strip_credit(row, survey.blots, survey.rate, width, credit)
        least = cuts.offcut_width if row[5] else 2 * width
        cells, costs = self._near.cells(span)
        return sections.ripped(cells, costs, credit, least, frozenset(contents))

    def _grow(self) -> list[Line]:
        near = self._near
        survey = near.best.survey
        cuts, length = survey.instance.cuts, survey.timber.length
        after, _ = near.best.to_come
        nothing: Content = (0,) * len(self.sections.kinds.kinds)
        begun = survey.cost - np.maximum(0.0, _first_credit(survey.credit, cuts.kerf, cuts.offcut_length))
        self._ended: dict[tuple[int, ...], Floats] = {}
        layer: _Layer = {(): (begun, nothing, 0.0)}
        lines: list[Line] = []
        end = np.zeros(length + 1)
        end[: length - cuts.kerf + 1] = _last_credit(survey.credit, cuts.kerf, cuts.offcut_length)
        while layer:
            ended: _Layer = {}
            for key, (costs, total, worth) in layer.items():
                if monotonic() > self._deadline or len(self._ended) > MOST_SKELETONS:
                    self.complete = False
                    break
                for number, table in enumerate(self._tables):
                    more = tuple(a + b for a, b in zip(total, table.content, strict=True))
                    if more not in self._wanted:
                        self._wanted[more] = self.sections.kinds.wanted(more)
                    if key and not self._wanted[more]:
                        continue
                    name = tuple(sorted((*key, number)))
                    known = ended.get(name)
                    into = np.full(length + 1, inf) if known is None else known[0]
                    gain = worth + table.best
                    if (
                        extended(costs, table.extra, table.step, after, self.limits.limit - gain, into)
                        and known is None
                    ):
                        ended[name] = (into, more, gain)
            layer = {}
            for count, (name, (costs, total, gain)) in enumerate(self._thin(ended, after)):
                if self._most is not None and count >= self._most:
                    self.complete = False
                    break
                self._ended[name] = costs
                at = int(np.argmin(costs - end))
                cost = float(costs[at] - end[at])
                if cost + gain <= self.limits.limit:
                    lines.append(
                        Line(
                            tuple(Given(self._tables[n].content, n, at, 0) for n in name),
                            cost,
                            cost + gain,
                            total,
                        )
                    )
                layer[name] = (
                    begun_costs(costs, cuts.kerf, cuts.offcut_length, survey.credit)[0],
                    total,
                    gain,
                )
        return self._needed(lines)

    def _thin(self, ended: _Layer, after: Floats) -> Iterator[tuple[tuple[int, ...], _Reached]]:
        """What is left of a layer without what others of the same contents make needless, place by place."""
        alike: dict[tuple[Content, ...], list[tuple[list[int], _Reached]]] = {}
        for name, reached in sorted(
            ended.items(), key=lambda item: float((item[1][0] - after).min()) + item[1][2]
        ):
            mine = sorted(name, key=lambda n: (self._tables[n].content, n))
            group = alike.setdefault(tuple(self._tables[n].content for n in mine), [])
            for other, (costs, _, _) in group:
                more = sum(self._excess(a, b) for a, b in zip(other, mine, strict=True))
                if more < inf and not thinned(reached[0], costs, more - CLOSE):
                    break
            else:
                group.append((mine, reached))
                yield name, reached

    def _needed(self, lines: Sequence[Line]) -> list[Line]:
        """The lines that no other makes needless, each of its sections at its place."""
        kept: dict[tuple[Content, ...], list[Line]] = {}
        for line in sorted(lines, key=lambda one: one.cost):
            ours = sorted(line.given, key=lambda g: (g.content, g.table))
            group = kept.setdefault(tuple(g.content for g in ours), [])
            if not any(
                old.cost + sum(self._excess(a.table, b.table) for a, b in zip(old.given, ours, strict=True))
                <= line.cost + CLOSE
                for old in group
            ):
                group.append(Line(tuple(ours), line.cost, line.least, line.total))
        placed = [self._placed(line) for group in kept.values() for line in group]
        return [line for line in placed if line is not None]

    def _excess(self, one: int, other: int) -> float:
        if one == other:
            return 0.0
        if (one, other) not in self._dearer:
            mine, theirs = self.tables[one], self.tables[other]
            there = np.isfinite(theirs)
            self._dearer[one, other] = float((mine[there] - theirs[there]).max())
        return self._dearer[one, other]

    def _placed(self, line: Line) -> Line | None:
        """The line with where each of its sections lies, traced back from where the last one ends.

        None where rounding has lost the way back: the line is left out, and the list is then not complete.
        """
        survey = self._near.best.survey
        cuts = survey.instance.cuts
        key = tuple(sorted(given.table for given in line.given))
        end, given = line.given[0].x0, []
        while key:
            cost = self._ended[key][end]
            for number in dict.fromkeys(key):
                table = self._tables[number]
                x0 = end - table.step
                if x0 < 0 or table.extra[x0] == inf:
                    continue
                rest = list(key)
                rest.remove(number)
                before = tuple(rest)
                if before and before not in self._ended:
                    continue
                if before:
                    begun, came = begun_costs(
                        self._ended[before], cuts.kerf, cuts.offcut_length, survey.credit
                    )
                    start, at = float(begun[x0]), int(came[x0])
                else:
                    credit = _first_credit(survey.credit, cuts.kerf, cuts.offcut_length)
                    start, at = survey.cost - max(0.0, float(credit[x0])), -1
                if abs(start + table.extra[x0] - cost) <= 1e-7:
                    given.append(Given(table.content, number, x0, end))
                    key, end = before, at
                    break
            else:
                self.complete = False
                return None
        return Line(
            tuple(sorted(given, key=lambda g: (g.content, g.table))), line.cost, line.least, line.total
        )


def _first_credit(credit: Floats, kerf: int, offcut_length: int) -> Floats:
    """By x, the credit for the end of the board before a section that starts there."""
    found = np.zeros(len(credit))
    least = kerf + offcut_length
    if least < len(credit):
        found[least:] = credit[offcut_length : len(credit) - kerf]
    return found


def _last_credit(credit: Floats, kerf: int, offcut_length: int) -> Floats:
    """By x, up to a kerf from the end, the credit for what is left after a section that ends there."""
    length = len(credit) - 1
    found: Floats = credit[length] - credit[kerf:]
    found[max(0, length - kerf - offcut_length + 1) :] = 0.0
    return found
