"""The search for stocks too large to list whole: prices, plans near them, and a proof where there can be one.

A plan is made at once, simply, so that there is one whatever happens (`first_plan`).
Boards are priced exactly, each by itself, at prices of a linear program over the ways of cutting found so
far (`survey`, `relaxation`), those that are cheap for their size first and the others once the prices have
settled. That gives a bound. Plans are chosen from the ways that pay or nearly pay (`choosing`). Where plan
and bound come near each other, what is left between them is listed exactly, board by board (`narrowing`),
and the exact model chooses from it, which proves the plan.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from time import monotonic

from stockyard.selection.cells import Fit
from stockyard.selection.first_plan import FirstPlan
from stockyard.selection.instance import Demand, Instance
from stockyard.selection.piecemeal import bettered, in_pieces
from stockyard.selection.pricing import MANY, Pricing
from stockyard.selection.priority import Found
from stockyard.selection.relaxation import groups_of
from stockyard.selection.result import counted_cost
from stockyard.selection.sections import Docked
from stockyard.selection.survey import shapes_of

FIRST_SHARE = 0.2  # of the time, at most, for bettering the plan begun from
STIR_SHARE = 0.3  # of what is left then, for bettering one of many panels
CLOSE_ENOUGH = 5e-6  # a plan states seven parts of its cost, each rounded to a millionth


@dataclass
class Broad:
    """One search. report: told the best cost and the bound; True stops the search."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float
    report: Callable[[float | None, float], bool]
    best: tuple[Docked, ...] = ()
    bound: float = 0.0
    stopped: bool = False

    def search(self) -> Found:
        """The best plan found, with a bound."""
        self.bound = self.instance.floor
        demands = [d for d in self.instance.demands if d.possible and self._served(d)]
        if not demands:
            return Found((), self.instance.floor, proved=True)
        if self.best:
            self.tell()
        # What has to be compiled the first time may take long: still every panel is to be tried once.
        enough = monotonic() + FIRST_SHARE * self.left()
        self.first = FirstPlan(self.instance, self.ways, self.deadline, enough)
        self.found(self.first.plan(demands))
        if len(demands) > MANY:
            self._stir(monotonic() + STIR_SHARE * self.left())
        self._try(demands)
        made = self.made(demands)
        if made and len(made) < len(demands):
            # The bound is to be one of the panels that are made.
            self.bound = self.instance.floor
            self._try(made)
        proved = bool(self.best) and len(self.made(demands)) == len(demands) and self.close()
        return Found(self.best, min(self.bound, self.cost) if self.best else self.instance.floor, proved)

    @property
    def cost(self) -> float:
        """What the best plan counts for."""
        return counted_cost(self.instance, self.best)

    def close(self) -> bool:
        """Are plan and bound as good as one?"""
        return bool(self.best) and self.cost - self.bound < CLOSE_ENOUGH

    def _served(self, demand: Demand) -> bool:
        return any(fit.demand.index == demand.index for fits in self.ways.values() for fit in fits)

    def left(self) -> float:
        """Seconds to go."""
        return self.deadline - monotonic()

    def _few(self, demands: Sequence[Demand], but: frozenset[int]) -> tuple[Docked, ...]:
        """A quick plan of a few panels that leaves some boards alone."""
        shapes = shapes_of(demands)
        few = Pricing(self, demands, shapes, groups_of(self.instance, demands, shapes), but)
        return few.quickly(self.deadline - 0.7 * self.left())

    def many(self, demands: Sequence[Demand], share: float) -> None:
        """Plan many panels a few at a time in a share of the time left, or better the plan there is."""
        until = monotonic() + share * self.left()

        def go_on() -> bool:
            return monotonic() < until and not self.stopped

        if not self.best:
            self.found(in_pieces(demands, self._few, go_on))
            return
        self._stir(monotonic() + 0.5 * (until - monotonic()))
        bettered(self.instance, demands, self.best, self._few, go_on, self.found)

    def _stir(self, until: float) -> None:
        """Better the plan simply for a while."""
        if self.best:
            self.first.better(
                self.best, self.found, lambda: monotonic() < until and not self.stopped, len(self.best)
            )

    def _try(self, demands: Sequence[Demand]) -> None:
        shapes = shapes_of(demands)
        Pricing(self, demands, shapes, groups_of(self.instance, demands, shapes)).run()

    def found(self, docked: tuple[Docked, ...]) -> None:
        """A plan has been found; it is kept if it is the best yet."""
        if docked and (not self.best or self._rank(docked) < self._rank(self.best)):
            self.best = docked
        self.tell()

    def tell(self) -> None:
        """Tell how far the search has come."""
        cost = self.cost if self.best else None
        self.stopped = self.stopped or self.report(
            cost, min(self.bound, cost) if cost is not None else self.bound
        )

    def made(self, demands: Sequence[Demand]) -> list[Demand]:
        """Those of the demands that the best plan makes."""
        there = {stave.fit.demand.index for section in self.best for stave in section.staves}
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
