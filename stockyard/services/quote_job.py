"""Quote a job before committing to it: timber, offcuts, treatments, glue, finish, labour, profit and tax."""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused
from stockyard.prep.bench import bench_sheet
from stockyard.prep.quote import Quote, QuoteLine, Rates, Work, make_quote, timber_of_plan, timber_to_buy
from stockyard.services.allocate_plan import plan_of
from stockyard.services.habits import Habits, habits_of, own_or_default
from stockyard.services.jobs import job_of
from stockyard.services.prepare_plan import seen_boards
from stockyard.timber import Job, Panel, Plan
from stockyard.timber.booked_plan import BookedPlan, PlanStatus

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class QuotedJob:
    """A job's quote. plan: whose timber it counts, None where all is to be bought. to_buy: panels to buy for.

    notes: what a reader has to know besides what the quote itself assumes.
    """

    job: str
    plan: BookedPlan | None
    to_buy: tuple[str, ...]
    quote: Quote
    rates: Rates
    notes: tuple[str, ...]


def quote_job(
    open_work: "OpenWork",
    name: str,
    *,
    plan: int | None = None,
    buy_at_m3: Decimal | None = None,
    more_minutes: Decimal = Decimal(0),
) -> QuotedJob:
    """What a job costs, and what to ask for it.

    plan: a plan of the job; its newest that was not released when None. buy_at_m3: the price of a cubic
    metre, for panels that no plan makes. more_minutes: of labour besides what the bench sheet counts.
    Raises NotFound; BadInput when a figure is below 0 or the plan is another job's; Refused when there is
    neither a plan nor a price.
    """
    faults = [
        Fault(what, "0 or more", f"{amount}")
        for what, amount in (("price of a cubic metre", buy_at_m3), ("minutes", more_minutes))
        if amount is not None and not (amount.is_finite() and amount >= 0)
    ]
    if faults:
        raise BadInput(f"{name} cannot be quoted so.", faults)
    with open_work(reading=True) as work:
        job = job_of(work, work.jobs.get(name))
        booked = _plan(work, name, plan)
        if booked is None and buy_at_m3 is None:
            raise Refused(
                f"{name} has no plan to quote from: run `stockyard select {name}`, or give a price for a"
                " cubic metre with --buy-at."
            )
        planned = plan_of(work, booked) if booked else None
        habits = habits_of(work)
        currency = work.workshop.currency
        now = work.now
    lines: list[QuoteLine] = []
    notes = []
    effort = Work(coats=habits.prep.work.coats)
    made: set[str] = set()
    if booked is not None and planned is not None:
        job = planned.job
        made = {panel.id for panel in planned.panels if panel.made}
        lines += timber_of_plan(planned)
        if made:
            sheet = bench_sheet(planned, seen_boards(booked), now, habits.prep)
            effort = sheet.work(habits.prep.work.coats)
        notes += _told_plan(booked, planned)
    missing = [panel for panel in job.panels if panel.id not in made]
    if missing and buy_at_m3 is not None:
        lines.append(timber_to_buy(_net_m3(job, missing), buy_at_m3, habits.rates))
        effort = replace(effort, finish_m2=effort.finish_m2 + _faces_m2(missing))
        notes.append(
            f"Timber is bought for {_listed(missing)}; waste of {habits.rates.waste_pct:g} % is"
            f" {habits.rates.waste}. Their gluing and labour are not counted: add minutes for them."
        )
    elif missing:
        notes.append(f"{_listed(missing)}: not made by the plan and not in the price.")
    if more_minutes:
        notes.append(f"{more_minutes:f} minutes of other labour are added.")
    effort = replace(effort, minutes=effort.minutes + more_minutes)
    notes.append(f"Rates are {own_or_default(habits, 'rates')}; {_whose(habits)}.")
    quote = make_quote(lines, effort, habits.rates, currency)
    bought = tuple(panel.id for panel in missing) if buy_at_m3 is not None else ()
    return QuotedJob(name, booked, bought, quote, habits.rates, tuple(notes))


def _plan(work: "UnitOfWork", name: str, number: int | None) -> BookedPlan | None:
    if number is not None:
        booked = work.plans.get(number)
        if booked.job != name:
            raise BadInput(f"Plan {number} is for {booked.job}, not for {name}.")
        return booked
    standing = [booked for booked in work.plans.find(job=name) if booked.status is not PlanStatus.RELEASED]
    return max(standing, key=lambda booked: booked.number, default=None)


def _told_plan(booked: BookedPlan, plan: Plan) -> list[str]:
    told = [
        f"Timber is as plan {booked.number} cuts it ({booked.status.value}): boards at book value, offcuts"
        " credited by its recovery. No waste is added, for the plan counts it."
    ]
    if plan.cost_parts.treatments:
        told.append("Treatments are priced by what they use, not by the plan's own weights.")
    return told


def _net_m3(job: Job, panels: list[Panel]) -> Decimal:
    """Net volume of panels at rough thickness, the faces' planing included. [m3]"""
    planing = 2 * job.allowances.face_planing_mm
    cubic = sum(panel.length_mm * panel.width_mm * (panel.thickness_mm + planing) for panel in panels)
    return Decimal(str(round(cubic / 1e9, 6)))


def _faces_m2(panels: list[Panel]) -> Decimal:
    area = sum(2 * (p.length_mm * p.width_mm + (p.length_mm + p.width_mm) * p.thickness_mm) for p in panels)
    return Decimal(str(round(area / 1e6, 4)))


def _listed(panels: list[Panel]) -> str:
    return ", ".join(f"panel {panel.id}" for panel in panels)


def _whose(habits: Habits) -> str:
    return f"labour is timed by {own_or_default(habits, 'work')}"
