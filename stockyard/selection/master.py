"""The whole selection as one mixed-integer model over what the boards offer.

A binary column for each offer and whole columns for the width it gives beyond its least, at most one offer of
each board, and for each panel rows that make widths add up, staves stand in their roles, boards be of one
species and evenly dry, and joints cost what neighbours cost each other.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.jointmodel import PanelJoints
from stockyard.selection.linear import Answer, Model
from stockyard.selection.offers import Offer
from stockyard.selection.windows import companies

Terms = dict[int, float]


@dataclass(frozen=True, slots=True)
class Taken:
    """An offer taken, with the width it gives each of its panels beyond the least. [mm]"""

    offer: Offer
    more: tuple[int, ...]


class Master:
    """The model over given offers, for all panels or for some; offers must be for those only.

    joints: say what joints cost; without, they cost nothing.
    """

    def __init__(
        self,
        instance: Instance,
        offers: Sequence[Offer],
        demands: Sequence[Demand] | None = None,
        *,
        joints: bool = True,
    ) -> None:
        self.instance, self.offers = instance, offers
        self.demands = instance.demands if demands is None else tuple(demands)
        self.model = Model()
        self.counts = {
            demand.index: {
                staves: self.model.add_column(high=1.0, whole=True)
                for staves in range(demand.least, demand.most + 1)
            }
            for demand in self.demands
        }
        self._width: dict[int, Terms] = defaultdict(dict)
        self._roles: dict[tuple[int, int], Terms] = defaultdict(dict)  # by demand and outer edges
        self._from: dict[tuple[int, int], Terms] = defaultdict(dict)  # by demand and board
        self._on_board: dict[int, Terms] = defaultdict(dict)
        self.columns: list[int] = []
        self._more: list[list[list[int]]] = []
        for offer in offers:
            self._add_offer(offer)
        for terms in self._on_board.values():
            self.model.add_row(terms, high=1.0)
        for demand in self.demands:
            self._add_panel(demand)
        self._add_companies()
        self.joints = [
            PanelJoints(self.model, instance, demand, offers, self.columns, self.counts[demand.index])
            for demand in self.demands
            if joints
        ]
        self.costs = list(self.model.costs)

    def _add_offer(self, offer: Offer) -> None:
        z = self.model.add_column(offer.cost, high=1.0, whole=True)
        self.columns.append(z)
        self._on_board[offer.timber][z] = 1.0
        for (demand, outer, _), count in offer.kinds:
            for terms in (self._roles[demand, outer], self._from[demand, offer.timber]):
                terms[z] = terms.get(z, 0.0) + count
        more = []
        for demand, width, pieces in offer.widths:
            self._width[demand][z] = self._width[demand].get(z, 0.0) + width
            columns = []
            for length, price in pieces:  # dearer pieces follow cheaper ones, so they fill in order
                column = self.model.add_column(price, high=float(length), whole=True)
                self.model.add_row({column: 1.0, z: -float(length)}, high=0.0)
                self._width[demand][column] = 1.0
                columns.append(column)
            more.append(columns)
        self._more.append(more)

    def _add_panel(self, demand: Demand) -> None:
        counts = self.counts[demand.index]
        asked = {column: -float(demand.width) for column in counts.values()}
        self.model.add_row(self._width[demand.index] | asked, 0.0, 0.0)
        for outer in range(3):
            staves = {c: -float(_wanted(n, outer)) for n, c in counts.items()}
            terms = self._roles[demand.index, outer] | staves
            if any(terms.values()):
                self.model.add_row(terms, 0.0, 0.0)
        self.model.add_row(dict.fromkeys(counts.values(), 1.0), 0.0, 1.0)
        for index, board in sorted(self.instance.musts):
            if index == demand.index:
                made = dict.fromkeys(counts.values(), -1.0)
                self.model.add_row(self._from[index, board] | made, low=0.0)

    def _add_companies(self) -> None:
        for demand in self.demands:
            boards = sorted(board for index, board in self._from if index == demand.index)
            sets = companies(self.instance, demand, [self.instance.timbers[board] for board in boards])
            if len(sets) <= 1:
                continue
            picks = [self.model.add_column(high=1.0, whole=True) for _ in sets]
            made = dict.fromkeys(self.counts[demand.index].values(), -1.0)
            self.model.add_row(dict.fromkeys(picks, 1.0) | made, 0.0, 0.0)
            for board in boards:
                with_it = [pick for pick, members in zip(picks, sets, strict=True) if board in members]
                if len(with_it) < len(sets):
                    takers = dict.fromkeys(self._from[demand.index, board], 1.0)
                    self.model.add_row(takers | dict.fromkeys(with_it, -1.0), high=0.0)

    def made_columns(self, demands: Sequence[Demand]) -> Terms:
        """Terms that count how many of these panels are made."""
        return {column: 1.0 for demand in demands for column in self.counts[demand.index].values()}

    def taken(self, answer: Answer) -> list[Taken]:
        """The offers an answer takes."""
        values = answer.values or ()
        return [
            Taken(offer, tuple(round(sum(values[c] for c in columns)) for columns in more))
            for offer, z, more in zip(self.offers, self.columns, self._more, strict=True)
            if values[z] > 0.5
        ]


def _wanted(staves: int, outer: int) -> int:
    """How many staves with so many outer edges a panel of `staves` has."""
    if staves == 1:
        return int(outer == 2)
    return (staves - 2, 2, 0)[outer]
