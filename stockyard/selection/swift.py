"""A good plan soon: ways of cutting boards priced by a linear program, then chosen among by a small one.

Whole ways of cutting a board (routes) are generated where they pay at the prices of what is known so far;
then, at the last prices, all routes that come near to paying are gathered and chosen from by HiGHS, with each
panel's count and widths, one species and the spread of its moisture. Widths are settled last. Nothing here
is a proof, and the plan is put together and checked like any other.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from time import monotonic

from stockyard.selection.cells import ALONE, ENDS, MIDDLE, Fit, Role
from stockyard.selection.instance import Demand, Instance, Timber, exactly
from stockyard.selection.joints import best_order, joint_cost
from stockyard.selection.linear import GrowingLp, Model
from stockyard.selection.routes import Prices, Route, Routes
from stockyard.selection.sections import Docked, Lying
from stockyard.selection.stacks import Slot

ROUNDS = 40
OLD_SHARE = 0.5  # of the prices before, in those tried next
MOST_ROUTES = 2500  # in the last choice
FEWEST = 60  # boards looked at, where there are so many


@dataclass
class Swift:
    """One quick search for a plan of `demands` from the boards in `ways`.

    plenty: how many times the area wanted to choose from. prices: of the last linear program, for whoever
    wants a bound.
    """

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    demands: Sequence[Demand]
    deadline: float
    plenty: int
    prices: Prices | None = None

    def search(self) -> tuple[Docked, ...]:
        """A plan, or nothing when none was found in time."""
        began = monotonic()
        left = self.deadline - began
        boards = self._boards(began + 0.35 * left)
        demands = [demand for demand in self.demands if self._served(demand, boards)]
        if not demands:
            return ()
        routes = self._gather(boards, self._generate(demands, boards, began + 0.6 * left))
        chosen = self._choose(demands, routes, self.deadline - monotonic())
        return self._dock(demands, chosen)

    def _served(self, demand: Demand, boards: Mapping[int, Routes]) -> bool:
        return any(fit.demand.index == demand.index for index in boards for fit in self.ways[index])

    def _boards(self, deadline: float) -> dict[int, Routes]:
        """Boards to choose from, the cheapest for their size first, as many as time and the job allow."""
        timbers = self.instance.timbers
        wanted = sum(demand.rough_length * demand.width for demand in self.demands)
        order = sorted(
            (index for index, fits in self.ways.items() if fits),
            key=lambda i: (timbers[i].value / (timbers[i].length * timbers[i].width), i),
        )
        found: dict[int, Routes] = {}
        area = 0
        for index in order:
            if found and (monotonic() > deadline or (area > self.plenty * wanted and len(found) >= FEWEST)):
                break
            routes = Routes(self.instance, timbers[index], self.ways[index])
            if not routes.empty:
                found[index] = routes
                area += timbers[index].length * timbers[index].width
        return found

    def _generate(
        self, demands: Sequence[Demand], boards: Mapping[int, Routes], deadline: float
    ) -> dict[Route, None]:
        dearest = max(self.instance.timbers[index].value for index in boards) + self.instance.handling
        relaxed = _Relaxed(demands, boards, max(1.0, dearest / 10))
        known: dict[Route, None] = {}
        tried: Prices | None = None
        for _ in range(ROUNDS):
            prices = relaxed.prices()
            tried = prices if tried is None else _mixed(tried, prices)
            added = 0
            for use in (tried, prices):
                for routes in boards.values():
                    for gain, route in routes.best(use):
                        if gain < -1e-6 and route not in known:
                            known[route] = None
                            relaxed.add(route)
                            added += 1
                    if monotonic() > deadline:
                        break
                if added:
                    break
            self.prices = prices
            if not added or monotonic() > deadline:
                break
        return known

    def _gather(self, boards: Mapping[int, Routes], known: dict[Route, None]) -> list[Route]:
        """Routes near to paying at the last prices, with those that were generated on the way."""
        if self.prices is None:
            return list(known)
        near: list[tuple[float, int, Route]] = []
        for index, routes in boards.items():
            slack = 0.25 * (self.instance.timbers[index].value + self.instance.handling)
            near += [(gain, index, route) for gain, route in routes.best(self.prices, slack, 25)]
        near.sort(key=lambda item: item[:2])
        for _, _, route in near[:MOST_ROUTES]:
            known.setdefault(route, None)
        return list(known)

    def _choose(self, demands: Sequence[Demand], routes: Sequence[Route], seconds: float) -> list[Route]:
        model = Model(gap=0.002, presolve=True)
        columns = [model.add_column(route.cost, 0.0, 1.0, whole=True) for route in routes]
        by_board: dict[int, dict[int, float]] = {}
        for column, route in zip(columns, routes, strict=True):
            by_board.setdefault(route.timber, {})[column] = 1.0
        for terms in by_board.values():
            model.add_row(terms, high=1.0)
        all_of_it = sum(sorted((r.cost for r in routes), reverse=True)[: 4 * len(demands)]) + 1.0
        ranks = sorted({d.panel.priority for d in demands}, reverse=True)
        for demand in demands:
            weight = all_of_it * (1 + len(demands)) ** ranks.index(demand.panel.priority)
            made = model.add_column(-min(weight, 1e7), 0.0, 1.0, whole=True)
            count: dict[int, float] = {}
            least: dict[int, float] = {}
            most: dict[int, float] = {}
            by_timber: dict[int, dict[int, float]] = {}
            for column, route in zip(columns, routes, strict=True):
                for panel, stack in route.stacks:
                    if panel == demand.index:
                        count[column] = count.get(column, 0.0) + stack.staves
                        least[column] = least.get(column, 0.0) + stack.least
                        most[column] = most.get(column, 0.0) + stack.most
                        by_timber.setdefault(route.timber, {})[column] = 1.0
            model.add_row({**most, made: -float(demand.width)}, low=0.0)
            model.add_row({**least, made: -float(demand.width)}, high=0.0)
            model.add_row({**count, made: -float(demand.least)}, low=0.0)
            model.add_row({**count, made: -float(demand.most)}, high=0.0)
            self._keep_alike(model, made, by_timber)
            for index, board in sorted(self.instance.musts):
                if index == demand.index:
                    model.add_row({**by_timber.get(board, {}), made: -1.0}, low=0.0)
        answer = model.solve(seconds)
        if answer.values is None:
            return []
        taken = [r for c, r in zip(columns, routes, strict=True) if answer.values[c] > 0.5]
        return taken

    def _keep_alike(self, model: Model, made: int, by_timber: Mapping[int, Mapping[int, float]]) -> None:
        """One species, and readings within the spread: the panel takes one window of them."""
        timbers, spread = self.instance.timbers, exactly(self.instance.job.moisture.spread_pct)
        windows = sorted({(timbers[i].board.species, timbers[i].moisture or Fraction(0)) for i in by_timber})
        if all(_within(timbers[i], windows[0], spread) for i in by_timber):
            return
        takes = {window: model.add_column(0.0, 0.0, 1.0, whole=True) for window in windows}
        model.add_row({**dict.fromkeys(takes.values(), 1.0), made: -1.0}, high=0.0)
        for index, terms in by_timber.items():
            for column in terms:
                allowed = {
                    takes[window]: -1.0 for window in windows if _within(timbers[index], window, spread)
                }
                model.add_row({column: 1.0, **allowed}, high=0.0)

    def _dock(self, demands: Sequence[Demand], chosen: Sequence[Route]) -> tuple[Docked, ...]:
        """The sections of the chosen routes, with widths settled and roles given."""
        slots: dict[int, list[Slot]] = {demand.index: [] for demand in demands}
        for route in chosen:
            for panel, stack in route.stacks:
                slots[panel] += stack.slots
        sections: dict[tuple[int, int, int], list[Lying]] = {}
        for demand in demands:
            theirs = slots[demand.index]
            if not theirs:
                continue
            roles = self._roles(theirs)
            wanting = demand.width - sum(slot.least for slot in theirs)
            for slot, role in zip(theirs, roles, strict=True):
                more = min(wanting, slot.most - slot.least)
                wanting -= more
                fit = self._fit(demand, slot, role)
                lying = Lying(fit, slot.start, slot.low, slot.low + slot.least + more)
                where = (slot.fit.timber.index, slot.start, slot.start + fit.rough_length)
                sections.setdefault(where, []).append(lying)
            if wanting:
                return ()
        return tuple(Docked(*where, tuple(staves)) for where, staves in sorted(sections.items()))

    def _roles(self, slots: Sequence[Slot]) -> list[Role]:
        """The two that stand outermost are those with which the row is cheapest."""
        if len(slots) == 1:
            return [ALONE]
        kinds = [(slot.fit.timber, slot.fit.show) for slot in slots]
        costs = [[joint_cost(self.instance, one, other) for other in kinds] for one in kinds]
        pairs = combinations(range(len(slots)), 2) if len(slots) <= 7 else [(0, len(slots) - 1)]
        ends = min(pairs, key=lambda pair: best_order(costs, pair)[0])
        return [ENDS[0] if number in ends else MIDDLE for number in range(len(slots))]

    def _fit(self, demand: Demand, slot: Slot, role: Role) -> Fit:
        return next(
            fit
            for fit in self.ways[slot.fit.timber.index]
            if fit.demand.index == demand.index and fit.role == role and fit.show is slot.fit.show
        )


class _Relaxed:
    """The linear program over the routes known so far, with a price on what is wanting."""

    def __init__(self, demands: Sequence[Demand], boards: Mapping[int, Routes], shortage: float) -> None:
        model = Model()
        self._rows: dict[int, tuple[int, int, int]] = {}
        for demand in demands:
            short, over = model.add_column(shortage), model.add_column(shortage)
            few, many = model.add_column(100 * shortage), model.add_column(100 * shortage)
            self._rows[demand.index] = (
                model.add_row({few: 1.0, many: -1.0}, float(demand.least), float(demand.most)),
                model.add_row({short: 1.0}, low=float(demand.width)),
                model.add_row({over: -1.0}, high=float(demand.width)),
            )
        self._boards = {index: model.add_row({}, high=1.0) for index in boards}
        self._lp = GrowingLp(model)

    def add(self, route: Route) -> None:
        """Let the program use a route."""
        terms: dict[int, float] = {self._boards[route.timber]: 1.0}
        for panel, stack in route.stacks:
            for row, amount in zip(self._rows[panel], (stack.staves, stack.most, stack.least), strict=True):
                terms[row] = terms.get(row, 0.0) + amount
        self._lp.add_column(route.cost, terms)

    def prices(self) -> Prices:
        """What each panel's staves are worth by what is known."""
        _, duals = self._lp.solve()
        stave, most, least = ({p: duals[rows[k]] for p, rows in self._rows.items()} for k in range(3))
        return Prices(stave, most, least)


def _mixed(old: Prices, new: Prices) -> Prices:
    def mix(one: Mapping[int, float], other: Mapping[int, float]) -> dict[int, float]:
        return {key: OLD_SHARE * one[key] + (1 - OLD_SHARE) * other[key] for key in one}

    return Prices(mix(old.stave, new.stave), mix(old.most, new.most), mix(old.least, new.least))


def _within(timber: Timber, window: tuple[str, Fraction], spread: Fraction) -> bool:
    species, driest = window
    if timber.board.species != species:
        return False
    return timber.moisture is None or driest <= timber.moisture <= driest + spread
