"""A plan that was sought under other prices, told at the job's own."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from stockyard.errors import Broken
from stockyard.selection.check import check_plan, cost_of
from stockyard.selection.check.judging import judged_defects
from stockyard.selection.check.laid import laid_staves
from stockyard.selection.result import as_money
from stockyard.timber import CostParts, Job, MadePanel, Plan, Status, Stock

PARTS = ("timber", "handling", "offcuts", "treatments", "appearance", "match", "rings")


def at_true_cost(plan: Plan, stock: Stock, job: Job, bound: Decimal = Decimal(0)) -> Plan:
    """The same staves and cuts with what they cost under `job`, whose rules have to allow the same.

    bound: of the cheapest plan that makes the same panels, which holds for this one too.
    Raises Broken when the plan is not lawful so.
    """
    as_asked = replace(plan, job=job, panels=_treatments_priced(replace(plan, job=job), stock))
    parts = cost_of(as_asked, stock)
    rounded = CostParts(**{name: as_money(Fraction(getattr(parts, name))) for name in PARTS})
    priced = replace(as_asked, cost_parts=rounded, status=Status.FEASIBLE, bound=min(bound, rounded.total))
    faults = check_plan(priced, stock)
    if faults:
        raise Broken("A plan failed its own check: " + "; ".join(str(fault) for fault in faults[:5]))
    return priced


def _treatments_priced(plan: Plan, stock: Stock) -> tuple[MadePanel, ...]:
    costs = {
        (laid.panel.id, laid.place, defect.id): as_money(Fraction(verdict.treatment))
        for laid in laid_staves(plan, stock)
        for defect, verdict in judged_defects(laid, plan.job)
        if verdict.treatment is not None
    }
    return tuple(
        replace(
            made,
            staves=tuple(
                replace(
                    stave,
                    treat=tuple(
                        replace(each, cost=costs[made.id, place, each.defect]) for each in stave.treat
                    ),
                )
                for place, stave in enumerate(made.staves)
            ),
        )
        for made in plan.panels
    )
