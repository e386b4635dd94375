"""What boards offer to the plan: a content, a stretch of widths, and a cost that is convex along it.

The cost of a content over the widths it can have need not be convex, so it is taken apart into stretches
along one panel's width on which it is; the widths of other panels are fixed in each.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stockyard.selection.contents import Content, Kind, Kinds
from stockyard.selection.cuttings import Cuttings
from stockyard.selection.ripping import Floats

FLAT = 1e-9  # slopes closer than this count as one


@dataclass(frozen=True, slots=True)
class Offer:
    """Staves that one board can give for a cost.

    kinds: each kind of stave and how many. widths: least total width for each panel, by its index. axis: the
    panel whose width may grow, by `pieces` of a length and a price for each mm, the prices rising.
    place: width indices of the least widths in the table of `content`; grows: the axis's number there.
    """

    timber: int
    kinds: tuple[tuple[Kind, int], ...]
    widths: tuple[tuple[int, int], ...]
    cost: float
    axis: int
    pieces: tuple[tuple[int, float], ...]
    content: Content
    place: tuple[int, ...]
    grows: int


def offers_of(cuttings: Cuttings) -> Iterator[Offer]:
    """Everything that one board offers."""
    kinds = cuttings.kinds
    for content, table in cuttings.tables.items():
        grows = int(np.argmax(table.shape))
        lines = np.moveaxis(table, grows, -1)
        for fixed in np.ndindex(lines.shape[:-1]):
            for start, cost, pieces in stretches(lines[fixed]):
                place = (*fixed[:grows], start, *fixed[grows:])
                yield _offer(cuttings.sections.timber.index, kinds, content, place, grows, cost, pieces)


def _offer(
    timber: int,
    kinds: Kinds,
    content: Content,
    place: tuple[int, ...],
    grows: int,
    cost: float,
    pieces: tuple[tuple[int, float], ...],
) -> Offer:
    given = tuple((kind, count) for kind, count in zip(kinds.kinds, content, strict=True) if count)
    widths = tuple(
        (demand, first + at)
        for demand, first, at in zip(kinds.demands, kinds.first(content), place, strict=True)
        if any(kind[0] == demand for kind, _ in given)
    )
    return Offer(timber, given, widths, cost, kinds.demands[grows], pieces, content, place, grows)


def stretches(costs: Floats) -> Iterator[tuple[int, float, tuple[tuple[int, float], ...]]]:
    """The convex stretches of a row of costs: where each starts, its cost there, its pieces (length, slope).

    Infinite costs are left out; every finite one lies in a stretch.
    """
    finite = np.isfinite(costs)
    at, count = 0, len(costs)
    while at < count:
        if not finite[at]:
            at += 1
            continue
        start = at
        pieces: list[tuple[int, float]] = []
        while at + 1 < count and finite[at + 1]:
            slope = float(costs[at + 1] - costs[at])
            if pieces and abs(slope - pieces[-1][1]) <= FLAT:
                pieces[-1] = (pieces[-1][0] + 1, pieces[-1][1])
            elif pieces and slope < pieces[-1][1]:
                break
            else:
                pieces.append((1, slope))
            at += 1
        yield start, float(costs[start]), tuple(pieces)
        at += 1
