"""The selection itself: from a stock and a job to the best plan that can be proved in the time given."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor, isfinite
from time import monotonic

from stockyard.errors import Broken
from stockyard.selection.check import check_plan
from stockyard.selection.cells import Fit, fits
from stockyard.selection.exact import Exact
from stockyard.selection.instance import Instance, as_whole
from stockyard.selection.priority import Found
from stockyard.selection.result import MILLIONTH, Cutting, put_together
from stockyard.selection.staged import Staged
from stockyard.selection.why import rejections, why_unmade
from stockyard.timber import CostParts, Job, MadePanel, Plan, Status, Stock


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a selection has come. best: cost of the best plan so far. gap: None while there is no plan."""

    best: float | None
    bound: float
    gap: float | None
    seconds: float


def select(
    stock: Stock,
    job: Job,
    *,
    seconds: float = 30.0,
    on_progress: Callable[[Progress], bool | None] | None = None,
    start: Plan | None = None,
) -> Plan:
    """The plan that makes the most panels by priority, then costs least.

    seconds: time to search; a lawful plan found by then comes back with a bound. on_progress: told now and
    then; returning True stops the search and keeps the best plan. start: a plan to begin from, used as far as
    it is lawful for this stock and job.
    Raises Broken when a plan fails its own check.
    """
    began = monotonic()
    instance = as_whole(stock, job)
    ways = {
        timber.index: tuple(fit for demand in instance.demands for fit in fits(instance, timber, demand))
        for timber in instance.timbers
    }
    search = Exact if len(instance.timbers) <= 8 else Staged
    found = search(instance, ways, began + seconds).search()
    plan = _as_plan(instance, ways, found, monotonic() - began)
    faults = check_plan(plan, stock)
    if faults:
        raise Broken("A plan failed its own check: " + "; ".join(str(fault) for fault in faults[:5]))
    return plan


def _as_plan(instance: Instance, ways: Mapping[int, tuple[Fit, ...]], found: Found, seconds: float) -> Plan:
    cutting = put_together(instance, found.docked) if found.docked else Cutting({}, (), CostParts())
    made = bool(cutting.panels)
    cost = cutting.cost_parts.total
    if not made:
        status = Status.INFEASIBLE if found.proved else Status.FEASIBLE
    else:
        status = Status.OPTIMAL if found.proved else Status.FEASIBLE
    bound = cost if found.proved else min(cost, _floor(found.bound))
    return Plan(
        job=instance.job,
        currency=instance.stock.currency,
        status=status,
        cost_parts=cutting.cost_parts,
        bound=bound,
        seconds=seconds,
        panels=tuple(
            MadePanel(demand.panel.id, cutting.panels[demand.index])
            if demand.index in cutting.panels
            else MadePanel(demand.panel.id, why=why_unmade(instance, demand, ways, proved=found.proved))
            for demand in instance.demands
        ),
        boards=cutting.boards,
        rejected=rejections(instance, ways),
    )


def _floor(bound: float) -> Decimal:
    if not isfinite(bound):
        return Decimal(0)  # no plan costs less: a board's credits never exceed its value
    return max(Decimal(0), Decimal(floor(Fraction(bound) * 1_000_000)) * MILLIONTH)
