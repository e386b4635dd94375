"""A plan from ways of cutting whole boards: which of them to take, and which panel each stave goes to.

The ways are as the relaxation found them, the width of each stave free within what its place allows. A small
integer model takes at most one way of each board so that every panel has its staves in their roles, can add
up to its width, is of one species and evenly dry; what joints cost is left to the putting together. Nothing
here is a proof.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from time import monotonic

from stockyard.selection.cells import Fit, fits
from stockyard.selection.instance import Demand, Instance, Timber, exactly
from stockyard.selection.linear import Model
from stockyard.selection.relaxation import Group, Slot, Way
from stockyard.selection.sections import Docked, Lying
from stockyard.selection.survey import Lie

Terms = dict[int, float]


class Choice:
    """The model over some ways. Panels may go unmade where no ways make them all."""

    def __init__(self, instance: Instance, groups: Sequence[Group], ways: Sequence[Way]) -> None:
        self._instance = instance
        self._ways = [way for way in ways if way.slots is not None]
        self._model = Model(gap=0.003, presolve=True)
        self._take = [self._model.add_column(way.cost, 0.0, 1.0, whole=True) for way in self._ways]
        self._goes: dict[tuple[int, int], dict[int, int]] = {}  # by way and slot, by demand: the column
        by_board: dict[int, Terms] = defaultdict(dict)
        for column, way in zip(self._take, self._ways, strict=True):
            by_board[way.board][column] = 1.0
        for terms in by_board.values():
            self._model.add_row(terms, high=1.0)
        self._most: dict[int, Terms] = defaultdict(dict)
        self._least: dict[int, Terms] = defaultdict(dict)
        self._staves: dict[int, Terms] = defaultdict(dict)
        self._only: dict[tuple[int, int], Terms] = defaultdict(dict)  # those that can lie in no other role
        self._from: dict[int, dict[int, Terms]] = defaultdict(lambda: defaultdict(dict))
        self._counts: dict[int, dict[int, int]] = {}
        self._worth: dict[int, float] = {}  # of making a panel, by column, where not all can be made
        for number, way in enumerate(self._ways):
            for place, slot in enumerate(way.slots or ()):
                self._place(number, place, slot, groups[slot.group])
        for group in groups:
            for demand in group.demands:
                self._add_panel(group, demand)

    def _place(self, number: int, place: int, slot: Slot, group: Group) -> None:
        take, way = self._take[number], self._ways[number]
        columns = {group.demand.index: take}
        if len(group.demands) > 1:
            columns = {d.index: self._model.add_column(0.0, 0.0, 1.0, whole=True) for d in group.demands}
            self._model.add_row(dict.fromkeys(columns.values(), 1.0) | {take: -1.0}, 0.0, 0.0)
        self._goes[number, place] = columns
        for demand, column in columns.items():
            only = (0 if slot.can(0) else None, 1 if slot.can(1) else None, 2 if slot.can(2) else None)
            held = {(0, None, None): 0, (None, 1, None): 1, (None, None, 2): 2}.get(only, -1)
            for terms, amount in (
                (self._most[demand], slot.most), (self._least[demand], slot.least),
                (self._staves[demand], 1), (self._only[demand, held], 1),
            ):  # fmt: skip
                terms[column] = terms.get(column, 0.0) + float(amount)
            self._from[demand][way.board][column] = 1.0

    def _add_panel(self, group: Group, demand: Demand) -> None:
        model, index = self._model, demand.index
        total = demand.most * max((way.cost for way in self._ways), default=0.0) + 1.0
        ranks = sorted({d.panel.priority for d in self._instance.demands}, reverse=True)
        weight = total * (1 + len(self._instance.demands)) ** ranks.index(demand.panel.priority)
        counts = {n: model.add_column(0.0, 0.0, 1.0, whole=True) for n in group.counts()}
        self._worth |= dict.fromkeys(counts.values(), -min(weight, 1e7))
        self._counts[index] = counts
        made = dict.fromkeys(counts.values(), -1.0)
        width = dict.fromkeys(counts.values(), -float(demand.width))
        model.add_row(dict.fromkeys(counts.values(), 1.0), high=1.0)
        model.add_row(self._most[index] | width, low=0.0)
        model.add_row(self._least[index] | width, high=0.0)
        staves = {c: -float(n) for n, c in counts.items()}
        model.add_row(self._staves[index] | staves, 0.0, 0.0)
        for outer in range(3):
            room = {
                c: -float(((n - 2) if n > 1 else 0, 2 if n > 1 else 0, int(n == 1))[outer])
                for n, c in counts.items()
            }
            if self._only[index, outer]:
                model.add_row(self._only[index, outer] | room, high=0.0)
        if 1 in counts:  # a panel of one stave is of one that can be it alone
            model.add_row(self._only[index, 2] | {counts[1]: -1.0}, low=0.0)
        for board in group.must:
            model.add_row(self._from[index].get(board, {}) | made, low=0.0)
        self._keep_alike(index, made)

    def _keep_alike(self, index: int, made: Terms) -> None:
        """One species, and readings within the spread: the panel takes one window of them."""
        timbers, spread = self._instance.timbers, exactly(self._instance.job.moisture.spread_pct)
        boards = self._from[index]
        windows = sorted({(timbers[i].board.species, timbers[i].moisture or Fraction(0)) for i in boards})
        if not windows or all(_within(timbers[i], windows[0], spread) for i in boards):
            return
        holds = {w: frozenset(i for i in boards if _within(timbers[i], w, spread)) for w in windows}
        kept = [w for w in windows if not any(holds[w] < holds[o] for o in windows)]
        takes = {window: self._model.add_column(0.0, 0.0, 1.0, whole=True) for window in kept}
        self._model.add_row(dict.fromkeys(takes.values(), 1.0) | made, 0.0, 0.0)
        for board, terms in boards.items():
            if all(board in holds[w] for w in kept):
                continue
            allowed = {takes[w]: -1.0 for w in kept if board in holds[w]}
            if len(terms) == 1:
                self._model.add_row(terms | allowed, high=0.0)
                continue
            for column in terms:
                self._model.add_row({column: 1.0} | allowed, high=0.0)

    def plan(self, seconds: float) -> tuple[Docked, ...]:
        """The sections of the best plan found in that time; none where there is none."""
        until = monotonic() + seconds
        row = self._model.add_row(dict.fromkeys(self._worth, 1.0), low=float(len(self._counts)))
        values = self._model.solve(0.6 * seconds).values  # with all panels, if that can be
        if values is None:
            self._model.row_lows[row] = 0.0
            for column, worth in self._worth.items():
                self._model.costs[column] = worth
            values = self._model.solve(until - monotonic()).values
        if values is None:
            return ()
        slots: dict[int, list[tuple[Way, Slot]]] = defaultdict(list)
        for number, way in enumerate(self._ways):
            if values[self._take[number]] < 0.5:
                continue
            for place, slot in enumerate(way.slots or ()):
                index = max(self._goes[number, place].items(), key=lambda item: values[item[1]])[0]
                slots[index].append((way, slot))
        return dock(self._instance, slots)


def dock(instance: Instance, slots: Mapping[int, Sequence[tuple[Way, Slot]]]) -> tuple[Docked, ...]:
    """The sections of chosen ways, roles given and widths settled, if that can be. slots: by demand."""
    sections: dict[tuple[int, int, int], list[Lying]] = {}
    for index, theirs in sorted(slots.items()):
        demand = instance.demands[index]
        lies = _in_roles([slot for _, slot in theirs])
        wanting = demand.width - sum(lie.least for lie in lies)
        if wanting < 0 or sum(lie.most - lie.least for lie in lies) < wanting:
            return ()
        for (way, slot), lie in zip(theirs, lies, strict=True):
            more = min(wanting, lie.most - lie.least)
            wanting -= more
            fit = _fit(instance, demand, instance.timbers[way.board], lie)
            lying = Lying(fit, lie.start, lie.low, lie.low + lie.least + more)
            sections.setdefault((way.board, *way.ends[slot.section]), []).append(lying)
    return tuple(Docked(*where, tuple(staves)) for where, staves in sorted(sections.items()))


def _in_roles(slots: Sequence[Slot]) -> list[Lie]:
    """How each stave of a panel lies: two outermost, those that can be nothing else first."""
    if len(slots) == 1:
        return [lie for lie in slots[0].lies if lie.role.outer_edges == 2]
    order = sorted(range(len(slots)), key=lambda n: (slots[n].can(0), not slots[n].can(1)))
    outer = set(order[:2])
    found = []
    for number, slot in enumerate(slots):
        lies = [lie for lie in slot.lies if lie.role.outer_edges == int(number in outer)]
        found += lies[:1] or list(slot.lies[:1])
    return found


def _fit(instance: Instance, demand: Demand, timber: Timber, lie: Lie) -> Fit:
    return next(
        fit for fit in fits(instance, timber, demand) if fit.role == lie.role and fit.show is lie.show
    )


def _within(timber: Timber, window: tuple[str, Fraction], spread: Fraction) -> bool:
    species, driest = window
    if timber.board.species != species:
        return False
    return timber.moisture is None or driest <= timber.moisture <= driest + spread
