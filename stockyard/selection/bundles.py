"""Staves counted by panel only: of one section (a bundle), and of a whole board (a tally)."""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from stockyard.selection.contents import Content, Kinds
from stockyard.selection.instance import Instance, Timber
from stockyard.selection.ripping import Ints


@dataclass(frozen=True)
class Counting:
    """Bundles and tallies of one board, numbered as the pricing kernels read them.

    panels: by kind, its panel's place among the board's different panels. onward: by bundle and panel, the
    bundle with one more stave. plus: what a bundle adds to a tally's number. fits: by tally and bundle, 1
    where the panels can take both.
    """

    panels: Ints
    onward: Ints
    plus: Ints
    fits: Ints
    radix: tuple[int, ...]

    def tally_of(self, content: Content) -> int:
        """The number of a content's tally."""
        return int(sum(self.radix[p] * count for p, count in zip(self.panels, content, strict=True)))


def counting(instance: Instance, kinds: Kinds, timber: Timber) -> Counting:
    """The counting of a board; panels that differ in name only count as one."""
    kerf, room = instance.cuts.kerf, timber.width
    groups: dict[object, int] = {}
    group_of = {}
    for index in kinds.demands:
        alike = replace(instance.demands[index].panel, id="", priority=1)
        group_of[index] = groups.setdefault(alike, len(groups))
    count = len(groups)
    panels = [group_of[demand] for demand, _, _ in kinds.kinds]
    along = timber.length - 2 * instance.cuts.end_loss + kerf
    most = tuple(
        min(
            sum(instance.demands[index].most for index in kinds.demands if group_of[index] == group),
            max(
                (along // (length + kerf)) * ((room + kerf) // (rough + kerf))
                for length, rough, panel in zip(kinds.lengths, kinds.rough, panels, strict=True)
                if panel == group
            ),
        )
        for group in range(count)
    )
    rough = [min(r for r, p in zip(kinds.rough, panels, strict=True) if p == panel) for panel in range(count)]
    bundles: list[tuple[int, ...]] = [(0,) * count]
    numbers = {bundles[0]: 0}
    onward: list[list[int]] = []
    for bundle in bundles:  # grows as it is walked
        row = []
        for panel in range(count):
            more = (*bundle[:panel], bundle[panel] + 1, *bundle[panel + 1 :])
            taken = sum(n * (r + kerf) for n, r in zip(more, rough, strict=True)) - kerf
            if taken <= room and more[panel] <= most[panel]:
                if more not in numbers:
                    numbers[more] = len(bundles)
                    bundles.append(more)
                row.append(numbers[more])
            else:
                row.append(-1)
        onward.append(row)
    radix = [1]
    for panel in range(count - 1):
        radix.append(radix[-1] * (most[panel] + 1))
    tallies = [tuple(reversed(t)) for t in product(*(range(m + 1) for m in reversed(most)))]
    fits = np.array(
        [
            [all(t + n <= m for t, n, m in zip(tally, bundle, most, strict=True)) for bundle in bundles]
            for tally in tallies
        ],
        dtype=np.int64,
    )
    plus = np.array([sum(r * n for r, n in zip(radix, bundle, strict=True)) for bundle in bundles])
    return Counting(
        np.array(panels, dtype=np.int64),
        np.array(onward, dtype=np.int64),
        plus.astype(np.int64),
        fits,
        tuple(radix),
    )
