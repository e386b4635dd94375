"""The whole selection as one mixed-integer model over what the boards offer.

A binary column for each offer and whole columns for the width it gives beyond its least, at most one offer of
each board, and for each panel rows that make widths add up, staves stand in their roles, boards be of one
species and evenly dry, and joints cost what neighbours cost each other.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.jointmodel import PanelJoints
from stockyard.selection.linear import Answer, Model
from stockyard.selection.offers import Box, Menu, Offer
from stockyard.selection.windows import companies

Terms = dict[int, float]


@dataclass(frozen=True, slots=True)
class Taken:
    """An offer taken, with the width it gives each of its panels beyond the least. [mm]

    column: that says so in the model.
    """

    offer: Offer
    more: tuple[int, ...]
    column: int


@dataclass(frozen=True, slots=True)
class _Dish:
    """A box of a table: the column that counts it, -1 where there is no choice; those beyond its least."""

    box: Box
    taken: int
    more: list[list[int]]


class Master:
    """The model over given offers, for all panels or for some; offers must be for those only.

    joints: say what joints cost; without, they cost nothing. menus: more to choose from.
    """

    def __init__(
        self,
        instance: Instance,
        offers: Sequence[Offer],
        demands: Sequence[Demand] | None = None,
        *,
        joints: bool = True,
        menus: Sequence[Menu] = (),
    ) -> None:
        self.instance, self.offers = instance, [*offers, *(offer for menu in menus for offer in menu.offers)]
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
        for offer in self.offers:
            self._add_offer(offer)
        self._menus: list[tuple[Menu, dict[int, list[_Dish]]]] = []
        first = len(offers)
        for menu in menus:
            self._add_menu(menu, self.columns[first : first + len(menu.offers)])
            first += len(menu.offers)
        for terms in self._on_board.values():
            self.model.add_row(terms, high=1.0)
        for demand in self.demands:
            self._add_panel(demand)
        self._add_companies()
        self.joints = [
            PanelJoints(self.model, instance, demand, self.offers, self.columns, self.counts[demand.index])
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

    def _add_menu(self, menu: Menu, columns: Sequence[int]) -> None:
        """As many boxes of each table as the line that is taken has sections with that table."""
        dishes: dict[int, list[_Dish]] = {}
        for table, found in menu.boxes.items():
            dishes[table] = []
            uses: Terms = {}
            for offer, z in zip(menu.offers, columns, strict=True):
                count = sum(given.table == table for given in offer.line.given)
                if count:
                    uses[z] = -float(count)
            most = -min(uses.values())
            if len(found) == 1 and not any(found[0].pieces):
                box = found[0]  # no choice: its widths come with the line
                for z, taken in uses.items():
                    self.model.costs[z] -= taken * box.cost
                    for demand, first in menu.first(table, box):
                        self._width[demand][z] = self._width[demand].get(z, 0.0) - taken * first
                dishes[table].append(_Dish(box, -1, []))
                continue
            for box in found:
                y = self.model.add_column(box.cost, high=most, whole=True)
                uses[y] = 1.0
                more = []
                for (demand, first), pieces in zip(
                    menu.first(table, box), menu.pieces(table, box), strict=True
                ):
                    self._width[demand][y] = float(first)
                    theirs = []
                    for length, price in pieces:
                        column = self.model.add_column(price, high=length * most, whole=True)
                        self.model.add_row({column: 1.0, y: -float(length)}, high=0.0)
                        self._width[demand][column] = 1.0
                        theirs.append(column)
                    more.append(theirs)
                dishes[table].append(_Dish(box, y, more))
            self.model.add_row(uses, 0.0, 0.0)
        self._menus.append((menu, dishes))

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
        plain = len(self.offers) - sum(len(menu.offers) for menu, _ in self._menus)
        found = [
            Taken(offer, tuple(round(sum(values[c] for c in columns)) for columns in more), z)
            for offer, z, more in zip(
                self.offers[:plain], self.columns[:plain], self._more[:plain], strict=True
            )
            if values[z] > 0.5
        ]
        for menu, dishes in self._menus:
            for offer in menu.offers:
                if values[self.columns[plain]] > 0.5:
                    found.append(_served(offer, dishes, values, self.columns[plain]))
                plain += 1
        return found


def _served(
    offer: Offer, dishes: Mapping[int, Sequence[_Dish]], values: Sequence[float], column: int
) -> Taken:
    """A line with a box for each of its sections, the widths beyond the least shared out evenly."""
    waiting: dict[int, list[tuple[Box, tuple[int, ...]]]] = {}
    for table in {given.table for given in offer.line.given}:
        waiting[table] = []
        for dish in dishes[table]:
            if dish.taken < 0:
                waiting[table] += [(dish.box, ())] * len(offer.line.given)
                continue
            count = round(values[dish.taken])
            totals = [round(sum(values[c] for c in columns)) for columns in dish.more]
            waiting[table] += [
                (dish.box, tuple((total + n) // count for total in totals)) for n in range(count)
            ]
    boxes: list[Box] = []
    more: list[int] = []
    for given in offer.line.given:
        box, extra = waiting[given.table].pop()
        boxes.append(box)
        more += extra or [0] * sum(n > 0 for n in offer.source.sections.kinds.per_demand(given.content))
    return Taken(replace(offer, boxes=tuple(boxes)), tuple(more), column)


def _wanted(staves: int, outer: int) -> int:
    """How many staves with so many outer edges a panel of `staves` has."""
    if staves == 1:
        return int(outer == 2)
    return (staves - 2, 2, 0)[outer]
