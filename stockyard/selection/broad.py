"""The search for stocks too large to list whole: a good plan soon, a better one if time allows, and a bound.

First a quick plan (`swift`) among the boards that are cheapest for their size, then one among more of them;
panels that either leaves unmade are tried again from the boards that are left. Then the bound (`earnings`) at
the prices those plans went by, scaled to where it is highest. The bound leaves out nothing that a plan must
pay, so it holds whatever was searched; nothing is called proved unless plan and bound meet.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from time import monotonic

from stockyard.selection.cells import Fit
from stockyard.selection.earnings import Earnings, lowest_cost
from stockyard.selection.instance import Demand, Instance
from stockyard.selection.priority import Found
from stockyard.selection.result import counted_cost
from stockyard.selection.routes import Prices
from stockyard.selection.sections import Docked
from stockyard.selection.swift import Swift

PLENTY = (12, 40)  # times the area wanted, from which the first plan and the second are chosen
SHARES = (0.4, 0.75)  # of the time, by which they have to be there
FIRST_STEP, LAST_STEP = 0.06, 0.005  # of a panel's prices, tried up and down
SCALES = (0.95, 0.9, 1.0, 0.85, 0.97, 0.92, 0.8)  # of the prices, at which a bound is looked for


@dataclass
class Broad:
    """One search. report: told the best cost and the bound; True stops the search."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float
    report: Callable[[float | None, float], bool]
    _prices: list[Prices] = field(default_factory=list)

    def search(self) -> Found:
        """The best plan found, with a bound."""
        demands = [d for d in self.instance.demands if d.possible and self._boards_for(d)]
        if not demands:
            return Found((), 0.0, proved=True)
        began = monotonic()
        left = self.deadline - began
        best: tuple[Docked, ...] = ()
        stop = False
        for plenty, share in zip(PLENTY, SHARES, strict=True):
            best = min(best, self._plan(demands, plenty, began + share * left), key=self._rank)
            stop = stop or self.report(self._rank(best)[1] if best else None, 0.0)
            if stop:
                break
        made = self._made(best, demands)
        cost = self._rank(best)[1] if best else 0.0
        bound = self._bound(made, cost) if best and self._prices and not stop else self.instance.floor
        self.report(cost if best else None, bound)
        proved = bool(best) and len(made) == len(self.instance.demands) and cost - bound < 1e-7
        return Found(best, min(bound, cost) if best else self.instance.floor, proved)

    def _plan(self, demands: Sequence[Demand], plenty: int, deadline: float) -> tuple[Docked, ...]:
        """One quick plan, its unmade panels tried again from what is left while anything comes of it."""
        ways, wanting = dict(self.ways), list(demands)
        docked: tuple[Docked, ...] = ()
        while wanting:
            until = monotonic() + (0.7 if not docked else 0.5) * (deadline - monotonic())
            swift = Swift(self.instance, ways, wanting, until, plenty)
            new = swift.search()
            if not docked and swift.prices is not None:
                self._prices.append(swift.prices)
            if not new:
                break
            docked += new
            cut = {section.timber for section in new}
            ways = {index: () if index in cut else fits for index, fits in ways.items()}
            made = {demand.index for demand in self._made(new, wanting)}
            wanting = [demand for demand in wanting if demand.index not in made]
            ways = {
                index: tuple(fit for fit in fits if fit.demand.index not in made)
                for index, fits in ways.items()
            }
        return docked

    def _bound(self, demands: Sequence[Demand], cost: float) -> float:
        """No plan of just these panels costs less. cost: of the best plan there is."""
        boards = []
        wanted = {demand.index for demand in demands}
        for index, theirs in self.ways.items():
            fits = [fit for fit in theirs if fit.demand.index in wanted]
            if fits:
                if monotonic() > self.deadline:
                    return self.instance.floor
                boards.append(Earnings(self.instance, self.instance.timbers[index], fits))
        best, at = self.instance.floor, self._prices[-1]
        for scale in SCALES:
            prices = self._prices[-1].scaled(scale)
            bound = lowest_cost(boards, demands, prices, self.deadline)
            if bound > best:
                best, at = bound, prices
        return self._raised(boards, demands, best, at, cost)

    def _raised(
        self, boards: Sequence[Earnings], demands: Sequence[Demand], best: float, at: Prices, cost: float
    ) -> float:
        """The bound after trying each panel's prices a little higher and a little lower, while that helps."""
        step = FIRST_STEP
        while step > LAST_STEP and best < cost - 1e-7:
            before = best
            for demand in demands:
                for share in (1 + step, 1 - step):
                    if monotonic() > self.deadline:
                        return best
                    prices = at.scaled(share, demand.index)
                    bound = lowest_cost(boards, demands, prices, self.deadline)
                    if bound > best:
                        best, at = bound, prices
                        break
            if best < before * (1 + step / 20):
                step /= 2
        return best

    def _boards_for(self, demand: Demand) -> bool:
        return any(fit.demand.index == demand.index for fits in self.ways.values() for fit in fits)

    def _made(self, docked: Sequence[Docked], demands: Sequence[Demand]) -> list[Demand]:
        there = {stave.fit.demand.index for section in docked for stave in section.staves}
        return [demand for demand in demands if demand.index in there]

    def _rank(self, docked: Sequence[Docked]) -> tuple[tuple[int, ...], float]:
        """The fewer unmade of high priority the better, then the cheaper."""
        there = {stave.fit.demand.index for section in docked for stave in section.staves}
        ranks = sorted({demand.panel.priority for demand in self.instance.demands})
        unmade = tuple(
            sum(d.panel.priority == rank and d.index not in there for d in self.instance.demands)
            for rank in ranks
        )
        return unmade, counted_cost(self.instance, docked)
