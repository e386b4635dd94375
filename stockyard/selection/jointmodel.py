"""Joints of one panel in the model: how many times each two kinds of stave are glued together.

A *kind* is a board and the face it shows; joints cost by kinds alone. Each stave at a panel's side has one
joint and each in the middle has two, so the joints form paths and rings; one path through all staves is what
a panel is, and rings are cut off as they turn up. Until then the joints cost no more than they truly do.
"""

from collections import defaultdict
from collections.abc import Sequence

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.joints import joint_cost
from stockyard.selection.linear import Answer, Model
from stockyard.selection.offers import Offer
from stockyard.timber import Face

Kind = tuple[int, Face]
Terms = dict[int, float]


class PanelJoints:
    """The joint columns and rows of one panel; none where all joints cost the same."""

    def __init__(
        self,
        model: Model,
        instance: Instance,
        demand: Demand,
        offers: Sequence[Offer],
        columns: Sequence[int],
        counts: dict[int, int],
    ) -> None:
        self._model = model
        self._ends: dict[Kind, Terms] = defaultdict(dict)
        self._middles: dict[Kind, Terms] = defaultdict(dict)
        for offer, column in zip(offers, columns, strict=True):
            for (index, outer, show), count in offer.kinds:
                if index == demand.index and outer < 2:
                    kind = (offer.timber, show)
                    (self._middles, self._ends)[outer][kind][column] = float(count)
        self._between: dict[tuple[Kind, Kind], int] = {}  # middle to middle
        self._price: dict[tuple[Kind, Kind], float] = {}
        self._base = 0.0
        if demand.most < 2 or not self._ends:
            return
        kinds = sorted(set(self._ends) | set(self._middles))
        for first in kinds:
            for second in kinds:
                self._price[first, second] = joint_cost(
                    instance,
                    (instance.timbers[first[0]], first[1]),
                    (instance.timbers[second[0]], second[1]),
                )
        # Every joint costs this much whatever is chosen; only what is above it needs deciding.
        self._base = min(self._price.values())
        for staves, column in counts.items():
            model.costs[column] += self._base * (staves - 1)
        if max(self._price.values()) > self._base:
            self._add(demand, counts)

    def _add(self, demand: Demand, counts: dict[int, int]) -> None:
        joints_of_ends: dict[Kind, Terms] = {kind: {} for kind in self._ends}
        joints_of_middles: dict[Kind, Terms] = {kind: {} for kind in self._middles}
        pairs: Terms = {}
        if demand.least <= 2:
            kinds = sorted(self._ends)
            for number, first in enumerate(kinds):
                for second in kinds[number:]:
                    column = self._column(first, second, 1.0)
                    joints_of_ends[first][column] = 1.0
                    joints_of_ends[second][column] = 2.0 if first == second else 1.0
                    pairs[column] = 1.0
            if 2 in counts:
                pairs[counts[2]] = -1.0
            self._model.add_row(pairs, 0.0, 0.0)
        if demand.most >= 3:
            for end in self._ends:
                for middle in self._middles:
                    column = self._column(end, middle, 2.0)
                    joints_of_ends[end][column] = 1.0
                    joints_of_middles[middle][column] = 1.0
        if demand.most >= 4:
            kinds = sorted(self._middles)
            for number, first in enumerate(kinds):
                for second in kinds[number:]:
                    column = self._column(first, second, float(demand.most - 3))
                    self._between[first, second] = column
                    if first == second:
                        joints_of_middles[first][column] = 2.0
                        self._cut_ring([first])
                    else:
                        joints_of_middles[first][column] = 1.0
                        joints_of_middles[second][column] = 1.0
        for kind, terms in joints_of_ends.items():
            self._model.add_row(terms | {c: -n for c, n in self._ends[kind].items()}, 0.0, 0.0)
        for kind, terms in joints_of_middles.items():
            self._model.add_row(terms | {c: -2.0 * n for c, n in self._middles[kind].items()}, 0.0, 0.0)
        self._joined = joints_of_middles
        self._to_ends = {column for terms in joints_of_ends.values() for column in terms}

    def _column(self, first: Kind, second: Kind, most: float) -> int:
        return self._model.add_column(self._price[first, second] - self._base, 0.0, most, whole=True)

    def cut_rings(self, answer: Answer) -> bool:
        """Forbid the rings of joints in an answer that stand apart from the panel's sides. Were there any?"""
        if not self._between or answer.values is None:
            return False
        values = answer.values
        near: dict[Kind, set[Kind]] = defaultdict(set)
        for (first, second), column in self._between.items():
            if values[column] > 0.5:
                near[first].add(second)
                near[second].add(first)
        reached = {
            kind
            for kind, terms in self._joined.items()
            if any(values[column] > 0.5 and column in self._to_ends for column in terms)
        }
        todo = list(reached)
        while todo:
            for kind in near[todo.pop()] - reached:
                reached.add(kind)
                todo.append(kind)
        present = {k for k, terms in self._middles.items() if any(values[c] > 0.5 for c in terms)}
        apart = present - reached
        while apart:
            ring, todo = set(), [min(apart)]
            while todo:
                kind = todo.pop()
                if kind not in ring:
                    ring.add(kind)
                    todo += near[kind]
            self._cut_ring(sorted(ring))
            apart -= ring
        return bool(present - reached)

    def _cut_ring(self, ring: Sequence[Kind]) -> None:
        """Joints inside a set of middle staves are fewer than the staves, if there is any."""
        inside = {
            column: 1.0
            for (first, second), column in self._between.items()
            if first in ring and second in ring
        }
        staves: Terms = {}
        for kind in ring:
            for column, count in self._middles[kind].items():
                staves[column] = staves.get(column, 0.0) - count
        for taker in sorted({column for kind in ring for column in self._middles[kind]}):
            self._model.add_row({**inside, **staves, taker: staves.get(taker, 0.0) + 1.0}, high=0.0)
