"""What one board can give: so many staves of each kind, and how widths of each panel's staves are counted.

A *kind* is what the rest of the plan sees of a stave: its panel, how many outer edges it has, and, where
neighbours care, the face it shows. A *content* counts staves of each kind. For each content, the total
finished width given to each panel is counted in steps of a millimetre from the least it can be.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np

from stockyard.selection.cells import Fit
from stockyard.selection.instance import Instance
from stockyard.selection.ripping import Ints
from stockyard.timber import Face

Kind = tuple[int, int, Face]  # panel's index, outer edges, face shown (BOTH where it does not matter)
Content = tuple[int, ...]  # staves of each kind


@dataclass(frozen=True)
class Kinds:
    """The kinds of stave a board can give, with their least and greatest finished width and rough width."""

    kinds: tuple[Kind, ...]
    demands: tuple[int, ...]
    least: tuple[int, ...]
    most: tuple[int, ...]
    rough: tuple[int, ...]
    lengths: tuple[int, ...]
    takes: tuple[tuple[int, int, int], ...]  # most middle, end and lone staves, by demand
    widths: tuple[int, ...]  # the panel's width, by demand

    def of(self, kind: Kind) -> int:
        """The number of a kind."""
        return self.kinds.index(kind)

    def demands_of(self, content: Content) -> set[int]:
        """The panels that a content gives to, by index."""
        return {demand for (demand, _, _), count in zip(self.kinds, content, strict=True) if count}

    def per_demand(self, content: Content) -> list[int]:
        """How many staves a content gives to each panel."""
        return [
            sum(n for (index, _, _), n in zip(self.kinds, content, strict=True) if index == demand)
            for demand in self.demands
        ]

    def wanted(self, content: Content) -> bool:
        """Could one panel of each demand take all of it?"""
        for number, demand in enumerate(self.demands):
            counts = [0, 0, 0]
            for (index, outer, _), count in zip(self.kinds, content, strict=True):
                if index == demand:
                    counts[outer] += count
            if any(count > most for count, most in zip(counts, self.takes[number], strict=True)):
                return False
            if counts[2] and (counts[0] or counts[1]):
                return False
        return all(size > 0 for size in self.shape(content))

    def first(self, content: Content) -> tuple[int, ...]:
        """The least total width for each demand."""
        return tuple(
            sum(
                count * least
                for (index, _, _), count, least in zip(self.kinds, content, self.least, strict=True)
                if index == demand
            )
            for demand in self.demands
        )

    def shape(self, content: Content) -> tuple[int, ...]:
        """How many total widths there are for each demand, from the least up to what its panel can take."""
        spans = []
        for number, (demand, first) in enumerate(zip(self.demands, self.first(content), strict=True)):
            last = sum(
                count * most
                for (index, _, _), count, most in zip(self.kinds, content, self.most, strict=True)
                if index == demand
            )
            spans.append(min(last, self.widths[number]) - first + 1)
        return tuple(spans)


def kind_of(fit: Fit, differ: bool) -> Kind:
    """The kind of stave that a fit gives."""
    return fit.demand.index, fit.role.outer_edges, fit.show if differ else Face.BOTH


def kinds_of(instance: Instance, fits: Sequence[Fit], *, differ: bool) -> Kinds:
    """The kinds of a board's fits; differ: told apart by face."""
    groups: dict[Kind, list[Fit]] = {}
    for fit in fits:
        groups.setdefault(kind_of(fit, differ), []).append(fit)
    kinds = tuple(sorted(groups))
    demands = tuple(sorted({kind[0] for kind in kinds}))
    return Kinds(
        kinds,
        demands,
        tuple(min(fit.narrowest for fit in groups[kind]) for kind in kinds),
        tuple(max(fit.widest for fit in groups[kind]) for kind in kinds),
        tuple(min(fit.least_rough for fit in groups[kind]) for kind in kinds),
        tuple(groups[kind][0].rough_length for kind in kinds),
        tuple((max(0, instance.demands[d].most - 2), 2, 1) for d in demands),
        tuple(instance.demands[d].width for d in demands),
    )


@dataclass(frozen=True)
class Layout:
    """The contents of one section and their width indices, as the ripping kernel reads them."""

    contents: tuple[Content, ...]
    shapes: tuple[tuple[int, ...], ...]
    onward: Ints
    sizes: Ints
    counts: Ints
    strides: Ints
    lift: Ints
    spare: Ints
    step: Ints
    base: Ints


def parts_of(contents: Iterable[Content]) -> frozenset[Content]:
    """These contents and all that they are made up from."""
    return frozenset(part for content in contents for part in product(*(range(n + 1) for n in content)))


def layout_size(kinds: Kinds, room: int, kerf: int, most: int) -> int:
    """How many contents and widths `section_layout` would have, counted up to `most`."""
    nothing: Content = (0,) * len(kinds.kinds)
    contents, seen, total = [nothing], {nothing}, 1
    for content in contents:  # grows as it is walked
        for k in range(len(kinds.kinds)):
            more = (*content[:k], content[k] + 1, *content[k + 1 :])
            taken = sum(n * (rough + kerf) for n, rough in zip(more, kinds.rough, strict=True)) - kerf
            if more in seen or taken > room or not kinds.wanted(more):
                continue
            seen.add(more)
            contents.append(more)
            total += prod(kinds.shape(more))
            if total > most:
                return total
    return total


def section_layout(
    kinds: Kinds, room: int, kerf: int, *, mixed: bool = True, only: Collection[Content] | None = None
) -> Layout:
    """All contents that can lie side by side in a board of width `room`; `mixed`: of several panels too.

    only: none but these, which hold all that each is made up from.
    """
    nothing: Content = (0,) * len(kinds.kinds)
    contents, numbers = [nothing], {nothing: 0}
    for content in contents:  # grows as it is walked
        for k in range(len(kinds.kinds)):
            more = (*content[:k], content[k] + 1, *content[k + 1 :])
            taken = sum(n * (rough + kerf) for n, rough in zip(more, kinds.rough, strict=True)) - kerf
            if (
                more in numbers
                or taken > room
                or not kinds.wanted(more)
                or (only is not None and more not in only)
            ):
                continue
            if mixed or len(kinds.demands_of(more)) == 1:
                numbers[more] = len(contents)
                contents.append(more)
    shapes = [kinds.shape(content) for content in contents]
    shapes[0] = (1,) * len(kinds.demands)
    sizes = np.array([prod(shape) for shape in shapes], dtype=np.int64)
    count, many = len(contents), len(kinds.kinds)
    onward = np.full((count, many), -1, dtype=np.int64)
    step = np.zeros((count, many), dtype=np.int64)
    along = np.ones((count, many), dtype=np.int64)
    strides = np.ones((count, many), dtype=np.int64)
    lift = np.zeros((count, many, int(sizes.max())), dtype=np.int64)
    spare = np.full((count, many, int(sizes.max())), 1 << 30, dtype=np.int64)
    for c, content in enumerate(contents):
        for k, kind in enumerate(kinds.kinds):
            more = (*content[:k], content[k] + 1, *content[k + 1 :])
            after = numbers.get(more, -1)
            onward[c, k] = after
            axis = kinds.demands.index(kind[0])
            along[c, k], strides[c, k] = shapes[c][axis], int(prod(shapes[c][axis + 1 :]))
            if after < 0:
                continue
            places = np.indices(shapes[c]).reshape(len(kinds.demands), -1)
            inside = np.all(places < np.array(shapes[after])[:, None], axis=0)
            flat = np.ravel_multi_index(tuple(places), shapes[after], mode="clip")
            lift[c, k, : sizes[c]] = flat
            spare[c, k, : sizes[c]] = np.where(inside, shapes[after][axis] - 1 - places[axis], -1)
            step[c, k] = int(prod(shapes[after][axis + 1 :]))
    return Layout(
        tuple(contents),
        tuple(shapes),
        onward,
        sizes,
        along,
        strides,
        lift,
        spare,
        step,
        np.array(kinds.least, dtype=np.int64),
    )
