"""What a plan says of itself: its cost, its bound, its status, and the boards it rejects."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import fields
from fractions import Fraction
from math import isfinite

from stockyard.errors import Fault
from stockyard.selection.check.costing import cost_of
from stockyard.selection.check.whole_mm import MILLIONTH, exact, same_money
from stockyard.timber import CostParts, Plan, Status, Stock


def findings(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """Every rule."""
    yield from costs_what_it_says(plan, stock)
    yield from bounds_its_cost_from_below(plan)
    yield from has_the_status_it_earned(plan)
    yield from counts_in_the_stocks_currency(plan, stock)
    yield from rejects_with_reasons(plan, stock)


def costs_what_it_says(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """Each part of the cost is what the staves and cuts come to."""
    true = cost_of(plan, stock)
    for part in fields(CostParts):
        stated, counted = getattr(plan.cost_parts, part.name), getattr(true, part.name)
        if not stated.is_finite() or not same_money(stated, exact(counted)):
            yield Fault(f"cost_parts.{part.name}", f"{counted:.6f}", str(stated))


def bounds_its_cost_from_below(plan: Plan) -> Iterator[Fault]:
    """The bound is a number and no more than the cost."""
    if not plan.bound.is_finite():
        yield Fault("bound", "a finite amount", str(plan.bound))
    elif plan.cost.is_finite() and exact(plan.bound) > exact(plan.cost) + MILLIONTH:
        yield Fault("bound", f"{plan.cost} at most, the cost", str(plan.bound))
    if not (isfinite(plan.seconds) and plan.seconds >= 0):
        yield Fault("seconds", "0 or more", str(plan.seconds))


def has_the_status_it_earned(plan: Plan) -> Iterator[Fault]:
    """Optimal leaves no gap and makes something; infeasible makes and cuts nothing."""
    made = any(panel.made for panel in plan.panels)
    if plan.status is Status.OPTIMAL and not made:
        yield Fault("status", "infeasible or feasible, no panel being made", str(plan.status))
    if plan.status is Status.OPTIMAL and plan.bound.is_finite() and plan.cost.is_finite():
        closeness = MILLIONTH * max(Fraction(1), abs(exact(plan.cost)))
        if exact(plan.cost) - exact(plan.bound) > closeness:
            yield Fault("bound", f"{plan.cost}, the cost of an optimal plan", str(plan.bound))
    if plan.status is Status.INFEASIBLE and (made or plan.boards):
        yield Fault("status", "optimal or feasible, something being made", str(plan.status))


def counts_in_the_stocks_currency(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """The plan's currency is the stock's."""
    if plan.currency != stock.currency:
        yield Fault("currency", stock.currency, plan.currency)


def rejects_with_reasons(plan: Plan, stock: Stock) -> Iterator[Fault]:
    """A rejected board is of the stock, not cut, named once, with a reason; reserved boards are rejected."""
    known, cut = {board.id for board in stock.boards}, {board.id for board in plan.boards}
    panels = {panel.id for panel in plan.job.panels}
    times = Counter(rejection.id for rejection in plan.rejected)
    for index, rejection in enumerate(plan.rejected):
        where = f"rejected[{index}]"
        if rejection.id not in known:
            yield Fault(f"{where}.id", "a board of the stock", rejection.id)
        if rejection.id in cut:
            yield Fault(f"{where}.id", "a board that is not cut", rejection.id)
        if times[rejection.id] > 1:
            yield Fault(
                f"{where}.id", "a board rejected once", f"{rejection.id}, {times[rejection.id]} times"
            )
        if not rejection.reasons:
            yield Fault(f"{where}.reasons", "at least one", "none")
        for number, reason in enumerate(rejection.reasons):
            if reason.panel is not None and reason.panel not in panels:
                yield Fault(f"{where}.reasons[{number}].panel", "a panel of the job", reason.panel)
            if not (reason.why.strip() and reason.detail.strip()):
                yield Fault(f"{where}.reasons[{number}]", "a word and a sentence", "nothing")
    for board in sorted(stock.reserved.keys() & known - times.keys()):
        yield Fault("rejected", f"{board}, which is reserved", "not rejected")
