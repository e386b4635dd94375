"""The search for stocks too large to list everything: bound first, then only what the bound leaves open.

1. The relaxation gives a bound and prices.
2. A first plan is sought among the lines that are nearly worth their cost at those prices.
3. A cutting whose cost exceeds its worth by more than the distance from bound to plan is in no better plan.
   What is left is listed exactly and solved; if that listing is whole, its best plan is the best of all.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from time import monotonic

from stockyard.selection.cells import Fit
from stockyard.selection.contents import Content
from stockyard.selection.instance import Demand, Instance
from stockyard.selection.linear import INFINITY
from stockyard.selection.lines import Limits, Lines
from stockyard.selection.master import Master
from stockyard.selection.offers import offers_of
from stockyard.selection.pricing import Pricer, Within
from stockyard.selection.priority import Found, by_priority, docked_of
from stockyard.selection.relaxation import Bound, Relaxation
from stockyard.selection.ripping import Floats
from stockyard.selection.sections import Docked, Sections

FIRST_SLACKS = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0, 4.0)  # of the bound: how far from worth their cost lines of a first plan may lie


@dataclass
class Staged:
    """One staged search."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float

    def search(self) -> Found:
        """The best plan found, with a bound."""
        began = monotonic()
        left = self.deadline - began
        pricers: dict[int, Pricer] = {}
        for index, fits in self.ways.items():
            if fits:
                timber = self.instance.timbers[index]
                pricer = Pricer(Sections(self.instance, timber, fits, mixed=False))
                if not pricer.empty:
                    pricers[index] = pricer
        demands = [
            d
            for d in self.instance.demands
            if any(kind[0] == d.index for p in pricers.values() for kind in p.sections.kinds.kinds)
        ]
        if not demands:
            return Found((), 0.0, proved=True)
        dearest = max(timber.value for timber in self.instance.timbers) + self.instance.handling
        relaxation = Relaxation(demands, pricers, max(1.0, dearest / 10))
        bound = relaxation.solve(min(self.deadline, monotonic() + left * 0.4))
        if bound is None:
            return Found((), 0.0, proved=False)
        print("bound", bound.value, "at", monotonic() - began, len(relaxation.columns))
        found: dict[int, set[tuple[int, int]]] = {}
        for cutting in relaxation.columns:
            found.setdefault(cutting.timber, set()).update(cutting.spans)
        best: Solved | None = None
        for share in FIRST_SLACKS:
            slack = share * abs(bound.value)
            best = self._solve(
                demands, pricers, bound, slack, min(self.deadline, monotonic() + 0.25 * left), found
            )
            if best is not None:
                break
        if best is None:
            return Found((), max(0.0, bound.value), proved=False)
        gap = best.cost - bound.value
        better = self._solve(demands, pricers, bound, gap, self.deadline)
        if better is not None and better.cost < best.cost:
            best = better
        return Found(best.docked, max(0.0, bound.value), proved=False)

    def _solve(
        self,
        demands: list[Demand],
        pricers: Mapping[int, Pricer],
        bound: Bound,
        slack: float,
        deadline: float,
        only: Mapping[int, set[tuple[int, int]]] | None = None,
    ) -> "Solved | None":
        """The best plan from lines whose cost exceeds their worth by no more than `slack`."""
        worth, per_mm = bound.prices.worth(), bound.prices.per_mm
        lines: dict[int, Lines] = {}
        t0 = monotonic()
        for index, pricer in pricers.items():
            limit = slack + min(0.0, bound.gains[index]) + 1e-6
            if bound.gains[index] > limit:
                continue
            within = pricer.within(worth, per_mm, limit)
            if not within.spans:
                continue
            spans = within.spans
            if only is not None:
                spans = [span for span in spans if span in only.get(index, ())]
            limits = _limits(bound, pricer, within, limit)
            lines[index] = Lines(pricer.sections, spans, limits, deadline)
        offers = [offer for theirs in lines.values() for offer in offers_of(theirs)]
        print("boards", len(lines), "offers", len(offers), "slack", slack, "t", monotonic() - t0)
        if not offers:
            return None
        master = Master(self.instance, offers)
        answer, complete = by_priority(self.instance, master, deadline)
        print("mip", answer.objective, answer.bound, answer.outcome, monotonic() - t0)
        if answer.values is None or answer.objective == INFINITY:
            return None
        return Solved(docked_of(master, answer, lines), answer.objective, answer.bound)


def _limits(bound: Bound, pricer: Pricer, within: Within, limit: float) -> Limits:
    kinds = pricer.sections.kinds

    def worth(content: Content, shape: tuple[int, ...]) -> Floats:
        return bound.prices.of_table(kinds, content, shape)

    def to_come(x0: int, content: Content) -> float:
        return float(within.to_come[x0][pricer.tally_of(content)])

    return Limits(worth, to_come, limit)


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan, its cost and a bound for what was listed."""

    docked: tuple[Docked, ...]
    cost: float
    bound: float
