"""What is left of every board once only ways of cutting that could be part of a better plan are kept.

At prices that prove a bound, a plan dearer than the bound by no more than a limit cuts no board in a way that
costs more beyond its worth than that limit. So for each board that can be cut within the limit at all, the
exact listing of its ways is run on the sections and contents that such a way can hold, and on no others.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from stockyard.selection.cells import fits
from stockyard.selection.contentkernels import content_worths
from stockyard.selection.contents import Content, Kinds
from stockyard.selection.pricingkernels import strip_credit
from stockyard.selection.relaxation import Group, Prices
from stockyard.selection.ripping import Floats, Ints
from stockyard.selection.sections import Sections
from stockyard.selection.survey import MODES, Best
from stockyard.selection.surveykernels import NOTHING
from stockyard.timber import Face

CLOSE = 1e-9
MOST_CONTENTS = 4000  # of one section, that are looked at one by one


class Near:
    """What one board's sections may hold in a way of cutting within a limit. best: of it at `prices`."""

    def __init__(self, best: Best, groups: Sequence[Group], prices: Prices, limit: float) -> None:
        self.best, self.limit = best, limit + min(0.0, best.excess) + CLOSE
        self.complete = True
        survey = best.survey
        self.fits = [
            fit
            for group in groups
            for demand in group.demands
            for fit in fits(survey.instance, survey.timber, demand)
        ]
        self.sections = Sections(survey.instance, survey.timber, self.fits)
        self._group_of: Mapping[int, Group] = {d.index: group for group in groups for d in group.demands}
        # Every group has a price of its own here: the line a stave is bought at tells which it is for.
        self._lines = prices.all_lines(groups, survey.shapes, survey.timber.index)
        self._list_contents()
        self.worth = _Worth(self.sections.kinds, self._group_of, prices, survey.timber.index)

    def pieces(self) -> Iterator[tuple[int, Content, float]]:
        """The spans, the contents that a section of each may hold, and how far within the limit that is."""
        best, survey = self.best, self.best.survey
        after, _ = best.to_come
        for span in range(len(survey.spans)):
            if best.values[span] <= NOTHING / 2:
                continue
            first, last, step = (int(n) for n in survey.spans[span, :3])
            beside = float((best.begun[first : last + 1] + after[first + step : last + step + 1]).max())
            least = survey.cost - self.limit - beside  # what a section here must be worth at least
            if best.values[span] < least:
                continue
            worths = self._worths(span)
            for n in np.nonzero(worths >= least)[0]:
                if n:
                    for content in self._by_lines[self._keys[n]]:
                        yield span, content, float(worths[n] - least)

    def cells(self, span: int) -> tuple[Ints, Floats]:
        """The cells of a span as the ripping kernel reads them, for all panels that want them."""
        survey, kinds = self.best.survey, self.sections.kinds
        longest, longer = int(survey.spans[span, 3]), bool(survey.spans[span, 4])
        rows, costs = [], []
        for number in survey.members(span).tolist():
            kind, l0, l1, h0, h1, least, most, margin, mode, role = survey.rows[number].tolist()
            fit = survey.role(kind // 3, role)
            touch = 3 if longer or fit.rough_length == longest else 0
            down, up = fit.low_allowance, fit.high_allowance
            for demand in self._demands_of(kind // 3):
                name = (demand, kind % 3, MODES[mode] if survey.differ else Face.BOTH)
                if name in kinds.kinds:
                    rows.append(
                        (l0 + down, l1 + down, h0 - up, h1 - up, kinds.of(name), down, up, least - margin,
                         most - margin, touch)
                    )  # fmt: skip
                    costs.append(float(survey.costs[number]))
        return np.array(rows, dtype=np.int64).reshape(-1, 10), np.array(costs)

    def _demands_of(self, shape: int) -> list[int]:
        return [index for index, group in self._group_of.items() if group.shape == shape]

    def _list_contents(self) -> None:
        """Contents by price line, those by kind that each stands for, and how one leads to the next."""
        kinds, survey = self.sections.kinds, self.best.survey
        line_of = {
            (panel, outer): line
            for line, (panel, outer) in enumerate(zip(self._lines.panels, self._outer(), strict=True))
        }
        lines = [line_of[self._group_of[demand].number, outer] for demand, outer, _ in kinds.kinds]
        nothing: Content = (0,) * len(kinds.kinds)
        listed, seen = [nothing], {nothing}
        for content in listed:  # grows as it is walked
            if len(listed) > MOST_CONTENTS:
                self.complete = False
                break
            for k in range(len(kinds.kinds)):
                more = (*content[:k], content[k] + 1, *content[k + 1 :])
                taken = sum(
                    n * (rough + survey.instance.cuts.kerf)
                    for n, rough in zip(more, kinds.rough, strict=True)
                )
                if (
                    more in seen
                    or taken - survey.instance.cuts.kerf > survey.timber.width
                    or not kinds.wanted(more)
                ):
                    continue
                seen.add(more)
                listed.append(more)
        self._by_lines: dict[tuple[int, ...], list[Content]] = {}
        for content in listed:
            self._by_lines.setdefault(_bought(lines, content), []).append(content)
        keys = sorted(self._by_lines, key=len)
        numbers = {key: number for number, key in enumerate(keys)}
        self._onward = np.full((len(keys), len(self._lines.panels)), -1, dtype=np.int64)
        for number, key in enumerate(keys):
            for line in range(len(self._lines.panels)):
                self._onward[number, line] = numbers.get(tuple(sorted((*key, line))), -1)
        self._keys, self._sizes = keys, np.array([len(key) for key in keys], dtype=np.int64)

    def _outer(self) -> Iterable[int]:
        for kind, (first, until) in enumerate(pairwise(self._lines.line_from.tolist())):
            yield from [kind % 3] * (until - first)

    def _worths(self, number: int) -> Floats:
        survey, lines = self.best.survey, self._lines
        cuts, width = survey.instance.cuts, survey.timber.width
        credit = np.zeros(width + 1)
        strip_credit(survey.spans[number], survey.blots, survey.rate, width, credit)
        return content_worths(
            survey.spans[number], survey.members(number), survey.rows, survey.costs, survey.shapes.lengths,
            lines.line_from, lines.stave, lines.mm, self._onward, self._sizes, width, cuts.kerf,
            cuts.offcut_width, credit,
        )  # fmt: skip


def _bought(lines: Sequence[int], content: Content) -> tuple[int, ...]:
    """The price lines of a content's staves, in order."""
    return tuple(sorted(line for line, count in zip(lines, content, strict=True) for _ in range(count)))


class _Worth:
    """What a content earns at each of its widths."""

    def __init__(self, kinds: Kinds, group_of: Mapping[int, Group], prices: Prices, board: int) -> None:
        self._kinds = kinds
        self._stave = [
            float(prices.stave[group_of[demand].number, outer])
            + prices.must.get((group_of[demand].number, board), 0.0)
            for demand, outer, _ in kinds.kinds
        ]
        self._mm = [float(prices.mm[group_of[demand].number]) for demand in kinds.demands]

    def __call__(self, content: Content, shape: tuple[int, ...]) -> Floats:
        worth = np.full(shape, sum(count * price for count, price in zip(content, self._stave, strict=True)))
        given = self._kinds.demands_of(content)
        for axis, (demand, first, price) in enumerate(
            zip(self._kinds.demands, self._kinds.first(content), self._mm, strict=True)
        ):
            if demand in given:
                along = price * (first + np.arange(shape[axis]))
                worth = worth + along.reshape([-1 if a == axis else 1 for a in range(len(shape))])
        return worth
