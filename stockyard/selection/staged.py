"""The search for stocks too large to list everything: bound first, then only what the bound leaves open.

1. The relaxation gives a bound and prices.
2. A first plan is sought among the sections that the relaxation used.
3. A cutting whose cost exceeds its worth by more than the distance from bound to plan is in no better plan.
   What is left is listed and solved. If that listing is whole, its best plan is the best of all; if not, the
   plan stands with the relaxation's bound.

Listed here are sections as long as their longest stave, each of one panel's staves. Where a board is too
narrow for two staves side by side there are no others, and only then is a listing whole. What joints cost is
left out of the search and put on the plan, so where they cost anything nothing is proved.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from time import monotonic

from stockyard.selection.cells import Fit
from stockyard.selection.contents import Content
from stockyard.selection.instance import Demand, Instance
from stockyard.selection.joints import joints_cost
from stockyard.selection.linear import INFINITY, Outcome
from stockyard.selection.lines import Limits, Lines
from stockyard.selection.master import Master, Taken
from stockyard.selection.offers import Offer, offers_of
from stockyard.selection.pricing import Pricer, Within
from stockyard.selection.priority import Found, by_priority, docked_of
from stockyard.selection.relaxation import Bound, Relaxation
from stockyard.selection.ripping import Floats
from stockyard.selection.sections import Sections

FIRST_GAP = 0.05  # of its cost: how good each panel of a first plan is to be
SLACKS = (
    0.02,
    0.05,
    0.1,
    0.3,
    1.0,
)  # of the bound: how far from worth their cost cuttings of an early plan may be
FIRST_BOARDS, FIRST_SPANS, FIRST_LINES = 60, 3, 120
FIRST_OFFERS, MOST_OFFERS = 1200, 4000

Report = Callable[[float | None, float], bool]


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan and what is known of it. whole: was everything within the slack listed and solved?"""

    taken: tuple[Taken, ...]
    cost: float
    made: int
    whole: bool


@dataclass
class Staged:
    """One staged search. report: told the best cost and the bound; True stops the search."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float
    report: Report

    def search(self) -> Found:
        """The best plan found, with a bound."""
        began = monotonic()
        left = self.deadline - began
        pricers, every = self._pricers(began + 0.35 * left)
        demands = [
            d
            for d in self.instance.demands
            if any(kind[0] == d.index for p in pricers.values() for kind in p.sections.kinds.kinds)
        ]
        if not demands:
            return Found((), 0.0, proved=every)
        dearest = max(timber.value for timber in self.instance.timbers) + self.instance.handling
        relaxation = Relaxation(demands, pricers, max(1.0, dearest / 10))
        bound = relaxation.solve(began + 0.6 * left)
        if bound is None:
            return Found((), 0.0, proved=False)
        lowest = max(0.0, bound.value) if every else 0.0
        used: dict[int, set[tuple[int, int]]] = {}
        for cutting in relaxation.columns:
            used.setdefault(cutting.timber, set()).update(cutting.spans)
        best = self._first_plan(demands, pricers, bound, min(self.deadline, monotonic() + 0.3 * left))
        best = best or Solved((), INFINITY, 0, whole=False)
        for share in SLACKS:
            slack = share * bound.value
            enough = best.made == len(demands) and (share > 0.1 or slack >= best.cost - bound.value)
            if enough or self.report(best.cost if best.taken else None, lowest):
                break
            until = min(self.deadline, monotonic() + 0.25 * (self.deadline - monotonic()))
            best = _better(best, self._solve(pricers, bound, best, slack, until, used)) or best
        if best.made and not self.report(best.cost, lowest):
            slack = max(0.0, best.cost - bound.value)
            second = self._solve(pricers, bound, best, slack, self.deadline, None)
            best = _better(best, second) or best
            if second is not None and second.whole and every and best.made == len(self.instance.demands):
                return Found(docked_of(best.taken), best.cost, proved=True)
        if best.made < len(self.instance.demands):
            lowest = 0.0  # the bound is on making them all
        return Found(docked_of(best.taken), lowest, proved=False)

    def _first_plan(
        self,
        demands: list[Demand],
        pricers: Mapping[int, Pricer],
        bound: Bound,
        deadline: float,
    ) -> Solved | None:
        """A plan made panel by panel, each the cheapest from boards that the panels before left whole."""
        worth, per_mm = bound.prices.worth(), bound.prices.per_mm
        lines: dict[int, Lines] = {}
        listing = monotonic() + 0.5 * (deadline - monotonic())
        for index in sorted(pricers, key=lambda i: (bound.gains[i], i)):
            if monotonic() > listing or len(lines) >= FIRST_BOARDS:
                break
            pricer = pricers[index]
            within = pricer.within(worth, per_mm, INFINITY)
            spans: list[tuple[int, int]] = []
            for length in {x1 - x0 for x0, x1 in within.spans}:
                spans += [span for span in within.ranked if span[1] - span[0] == length][:FIRST_SPANS]
            limits = _limits(bound, pricer, within, INFINITY)
            lines[index] = Lines(pricer.sections, sorted(spans), limits, listing, most_sections=1)
        order = sorted(demands, key=lambda d: (d.panel.priority, -d.length * d.width, d.index))
        best: Solved | None = None
        for attempt in range(len(demands)):
            until = monotonic() + (deadline - monotonic()) / (2 if attempt == 0 else 3)
            solved, failed = self._panel_by_panel(order, lines, until)
            best = _better(best, solved)
            if failed is None or monotonic() > deadline:
                break
            order.insert(0, order.pop(order.index(failed)))  # it may need what others took
        return best

    def _panel_by_panel(
        self, order: Sequence[Demand], lines: Mapping[int, Lines], deadline: float
    ) -> tuple[Solved | None, Demand | None]:
        """The panels made in this order, and the first that could not be."""
        taken: set[int] = set()
        chosen: list[Taken] = []
        cost, made = 0.0, 0
        failed: Demand | None = None
        for place, demand in enumerate(order):
            its_own = {
                index: [
                    line
                    for line in theirs.lines
                    if theirs.sections.kinds.demands_of(line.total) == {demand.index}
                ]
                for index, theirs in lines.items()
                if index not in taken
            }
            ranked = sorted(
                (line.least, index, number)
                for index, theirs in its_own.items()
                for number, line in enumerate(theirs)
            )
            offers = [
                offer
                for _, index, number in ranked[:FIRST_LINES]
                for offer in offers_of(lines[index], [its_own[index][number]])
            ]
            new: list[Taken] = []
            if offers:
                master = Master(self.instance, offers, [demand], joints=False)
                master.model.gap = FIRST_GAP
                until = monotonic() + (deadline - monotonic()) / (len(order) - place)
                answer, _ = by_priority(master, until)
                if answer.values is not None:
                    new = master.taken(answer)
                    cost += answer.objective
            if not new and failed is None:
                failed = demand
            chosen += new
            taken |= {one.offer.timber for one in new}
            made += bool(new)
        return (Solved(tuple(chosen), cost, made, whole=False) if chosen else None), failed

    def _pricers(self, deadline: float) -> tuple[dict[int, Pricer], bool]:
        """Pricers of boards, the cheapest for their size first. Are they all there?"""
        timbers = self.instance.timbers
        order = sorted(
            (index for index, fits in self.ways.items() if fits),
            key=lambda i: (timbers[i].value / (timbers[i].length * timbers[i].width), i),
        )
        found: dict[int, Pricer] = {}
        for index in order:
            if monotonic() > deadline:
                return found, False
            pricer = Pricer(
                Sections(self.instance, timbers[index], self.ways[index], mixed=False, faces=False)
            )
            if not pricer.empty:
                found[index] = pricer
        return found, True

    def _solve(
        self,
        pricers: Mapping[int, Pricer],
        bound: Bound,
        best: Solved,
        slack: float,
        deadline: float,
        only: Mapping[int, set[tuple[int, int]]] | None,
    ) -> Solved | None:
        """The best plan from cuttings whose cost exceeds their worth by no more than `slack`.

        best: the plan to begin from. only: sections to keep to, by board, for a plan in a hurry.
        """
        began = monotonic()
        listing = deadline if only is None else deadline - 0.5 * (deadline - began)
        worth, per_mm = bound.prices.worth(), bound.prices.per_mm
        lines: dict[int, Lines] = {}
        whole = only is None and not joints_cost(self.instance)
        for index in sorted(pricers, key=lambda i: (bound.gains[i], i)):
            pricer = pricers[index]
            limit = slack + min(0.0, bound.gains[index]) + 1e-6
            if bound.gains[index] > limit:
                continue
            if monotonic() > began + 0.5 * (listing - began):
                whole = False
                break
            if only is not None and index not in only:
                continue
            within = pricer.within(worth, per_mm, limit)
            spans = within.spans
            if only is not None:
                spans = [span for span in spans if span in only.get(index, ())]
            limits = _limits(bound, pricer, within, limit)
            theirs = Lines(pricer.sections, spans, limits, began + 0.5 * (listing - began))
            whole = whole and theirs.complete and pricer.sections.lone
            lines[index] = theirs
        most = MOST_OFFERS if only is None else FIRST_OFFERS
        offers, every = _nearest_offers(lines, most, listing)
        whole = whole and every
        offers = [*(one.offer for one in best.taken), *offers]
        master = Master(self.instance, offers, joints=False)
        start = {column: float(number < len(best.taken)) for number, column in enumerate(master.columns)}
        answer, complete = by_priority(master, deadline, start if best.made == len(master.demands) else None)
        if answer.values is None or answer.objective == INFINITY:
            return None
        taken = tuple(master.taken(answer))
        made = len({kind[0] for one in taken for kind, _ in one.offer.kinds})
        whole = whole and complete and answer.outcome is Outcome.PROVED
        return Solved(taken, answer.objective, made, whole) if taken else None


def _nearest_offers(lines: Mapping[int, Lines], most: int, deadline: float) -> tuple[list[Offer], bool]:
    """Offers of the lines nearest to worth their cost, `most` at most. Are they all there?"""
    ranked = sorted(
        (
            (line.least, index, number)
            for index, theirs in lines.items()
            for number, line in enumerate(theirs.lines)
        )
    )
    found: list[Offer] = []
    for _, index, number in ranked:
        line = lines[index].lines[number]
        for offer in offers_of(lines[index], [line]):
            if len(found) == most or monotonic() > deadline:
                return found, False
            found.append(offer)
    return found, True


def _better(one: Solved | None, other: Solved | None) -> Solved | None:
    if one is None or other is None:
        return one or other
    return min(one, other, key=lambda solved: (-solved.made, solved.cost))


def _limits(bound: Bound, pricer: Pricer, within: Within, limit: float) -> Limits:
    kinds = pricer.sections.kinds

    def worth(content: Content, shape: tuple[int, ...]) -> Floats:
        return bound.prices.of_table(kinds, content, shape)

    def to_come(x0: int, content: Content) -> float:
        return float(within.to_come[x0][pricer.tally_of(content)])

    return Limits(worth, to_come, limit)
