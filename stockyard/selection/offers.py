"""What boards offer to the plan: a content, widths that may grow, and a cost that is convex in each.

The cost of a content over the widths it can have need not be convex, nor the sum of one cost for each panel.
So its table is taken apart into boxes in which it is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Protocol

import numpy as np

from stockyard.selection.contents import Kind
from stockyard.selection.lines import CLOSE, Given, Limits, Line
from stockyard.selection.ripping import Floats
from stockyard.selection.sections import Docked, Sections

FLAT = 1e-9  # costs closer than this count as one

Pieces = tuple[tuple[int, float], ...]  # lengths in mm and the price of a mm, the prices rising


class Listing(Protocol):
    """Lines of one board, with the tables of their sections, as `Lines` and `Skeletons` list them."""

    sections: Sections
    tables: list[Floats]
    best: list[float]
    lines: list[Line]

    @property
    def limits(self) -> Limits | None:
        """What was left out."""


@dataclass(frozen=True, slots=True)
class Box:
    """A part of a section's table: indices of its least widths, the cost there, pieces along each axis."""

    place: tuple[int, ...]
    cost: float
    pieces: tuple[Pieces, ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """Staves that one board can give for a cost.

    kinds: each kind of stave and how many. widths: a panel's index, a least width and the pieces by which it
    may grow, for each section and panel. cost: at the least widths. line, boxes, source: what it stands for.
    """

    timber: int
    kinds: tuple[tuple[Kind, int], ...]
    widths: tuple[tuple[int, int, Pieces], ...]
    cost: float
    line: Line
    boxes: tuple[Box, ...]
    source: "Listing"


class Menu:
    """What one board offers by its lines, the boxes of each table listed once for all that have it.

    offers: one for each line, its boxes to be chosen. boxes: by table.
    """

    def __init__(self, lines: Listing) -> None:
        self._lines, sections = lines, lines.sections
        kinds = sections.kinds
        self.offers = [
            Offer(
                sections.timber.index,
                tuple((kind, n) for kind, n in zip(kinds.kinds, line.total, strict=True) if n),
                (),
                line.cost,
                line,
                (),
                lines,
            )
            for line in lines.lines
        ]
        spare: dict[int, tuple[float, Line, Given]] = {}
        for line in lines.lines:
            for given in line.given:
                if given.table not in spare or line.least < spare[given.table][0]:
                    spare[given.table] = (line.least, line, given)
        self._contents = {table: given.content for table, (_, _, given) in spare.items()}
        self.boxes = {
            table: list(boxes(_near(lines, line, given))) for table, (_, line, given) in sorted(spare.items())
        }

    def first(self, table: int, box: Box) -> list[tuple[int, int]]:
        """Each panel that a box of a table gives to, by index, and its least total width."""
        kinds, content = self._lines.sections.kinds, self._contents[table]
        theirs = kinds.demands_of(content)
        return [
            (demand, first + at)
            for demand, first, at in zip(kinds.demands, kinds.first(content), box.place, strict=True)
            if demand in theirs
        ]

    def pieces(self, table: int, box: Box) -> list[Pieces]:
        """What each of those may have beyond that."""
        kinds, theirs = (
            self._lines.sections.kinds,
            self._lines.sections.kinds.demands_of(self._contents[table]),
        )
        return [p for demand, p in zip(kinds.demands, box.pieces, strict=True) if demand in theirs]


def offers_of(lines: Listing, of: Sequence[Line] | None = None) -> Iterator[Offer]:
    """Everything that one board offers by these of its lines, or by all."""
    sections = lines.sections
    kinds = sections.kinds
    for line in lines.lines if of is None else of:
        parts = [list(boxes(_near(lines, line, given))) for given in line.given]
        given_kinds = tuple((kind, n) for kind, n in zip(kinds.kinds, line.total, strict=True) if n)
        for chosen in product(*parts):
            widths: list[tuple[int, int, Pieces]] = []
            for given, box in zip(line.given, chosen, strict=True):
                content = given.content
                theirs = kinds.demands_of(content)
                widths += [
                    (demand, first + at, pieces)
                    for demand, first, at, pieces in zip(
                        kinds.demands, kinds.first(content), box.place, box.pieces, strict=True
                    )
                    if demand in theirs
                ]
            cost = line.cost + sum(box.cost for box in chosen)
            yield Offer(sections.timber.index, given_kinds, tuple(widths), cost, line, chosen, lines)


def _near(lines: Listing, line: Line, given: Given) -> Floats:
    """A section's table without the widths at its ends that cost too much more than they are worth."""
    costs, limits = lines.tables[given.table], lines.limits
    if limits is None:
        return costs
    worth = limits.worth(given.content, costs.shape)
    spare = limits.limit - line.least + lines.best[given.table]
    near = np.nonzero(costs - worth <= spare + CLOSE)
    inside = tuple(slice(int(at.min()), int(at.max()) + 1) for at in near)
    kept = np.full(costs.shape, np.inf)
    kept[inside] = costs[inside]
    return kept


def docked(offer: Offer, more: tuple[int, ...]) -> list[Docked]:
    """The sections of an offer, its widths each so much beyond the least.

    None where they cannot be cut so, which is only where an offer was taken for better than it is.
    """
    sections, found, at = offer.source.sections, [], 0
    for given, box in zip(offer.line.given, offer.boxes, strict=True):
        place = list(box.place)
        theirs = sections.kinds.demands_of(given.content)
        for axis, demand in enumerate(sections.kinds.demands):
            if demand in theirs:
                place[axis] += more[at]
                at += 1
        index = int(np.ravel_multi_index(place, sections.kinds.shape(given.content)))
        staves = sections.lying(given.x0, given.x1, given.content, index)
        if not staves:
            return []
        found.append(Docked(sections.timber.index, given.x0, given.x1, tuple(staves)))
    return found


def boxes(costs: Floats) -> Iterator[Box]:
    """The boxes of a table in which cost is a sum of convex costs along the axes.

    Infinite costs are left out; every finite one lies in one box.
    """
    todo: list[tuple[Floats, tuple[int, ...]]] = [(costs, (0,) * costs.ndim)]
    while todo:
        costs, place = todo.pop()
        finite = np.nonzero(np.isfinite(costs))
        if not len(finite[0]):
            continue
        first = tuple(int(at.min()) for at in finite)
        costs = costs[tuple(slice(f, int(at.max()) + 1) for f, at in zip(first, finite, strict=True))]
        place = tuple(p + f for p, f in zip(place, first, strict=True))
        cut = _worst_cut(costs)
        if cut is None:
            pieces = tuple(_pieces(costs, axis) for axis in range(costs.ndim))
            yield Box(place, float(costs.flat[0]), pieces)
            continue
        axis, at = cut
        low, high = np.split(costs, [at], axis=axis)
        todo += [(high, (*place[:axis], place[axis] + at, *place[axis + 1 :])), (low, place)]


def _worst_cut(costs: Floats) -> tuple[int, int] | None:
    """The axis and place at which cutting a box in two mends most of what is not convex or not a sum."""
    found: list[tuple[int, int, int]] = []
    finite = np.isfinite(costs)
    for axis in range(costs.ndim):
        size = costs.shape[axis]
        if size < 2:
            continue
        others = tuple(a for a in range(costs.ndim) if a != axis)
        faults = np.zeros(size, dtype=np.int64)  # what a cut before each place would mend
        if not finite.all():
            faults[1:] += (np.diff(finite.astype(np.int64), axis=axis) != 0).sum(axis=others)
        else:
            slopes = np.diff(costs, axis=axis)
            if size > 2:
                faults[2:] += (np.diff(slopes, axis=axis) < -FLAT).sum(axis=others)
            for other in others:
                if costs.shape[other] > 1:
                    faults[1:] += (np.abs(np.diff(slopes, axis=other)) > FLAT).sum(axis=others)
        at = int(faults.argmax())
        if faults[at]:
            found.append((int(faults[at]), axis, at))
    if not found:
        return None
    _, axis, at = max(found)
    return axis, at


def _pieces(costs: Floats, axis: int) -> Pieces:
    line = costs[tuple(slice(None) if a == axis else 0 for a in range(costs.ndim))]
    pieces: list[tuple[int, float]] = []
    for slope in np.diff(line):
        if pieces and slope - pieces[-1][1] <= FLAT:
            pieces[-1] = (pieces[-1][0] + 1, pieces[-1][1])
        else:
            pieces.append((1, float(slope)))
    return tuple(pieces)
