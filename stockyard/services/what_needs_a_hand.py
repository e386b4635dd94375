"""What needs a hand today: boards never read, counts and steps left open, plans that no longer hold."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.errand import Errand, ErrandState
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery, RackTotals
from stockyard.timber.step import Step, StepState
from stockyard.timber.stocktake import Stocktake

if TYPE_CHECKING:
    from stockyard.records import OpenWork

UNREAD = RackQuery(
    kinds=(PieceKind.BOARD, PieceKind.OFFCUT),
    status=(PieceStatus.FREE, PieceStatus.PROMISED),
    unread=True,
)
"""Pieces that nobody has held a meter to."""


@dataclass(frozen=True, slots=True)
class ChangedPlan:
    """A plan that was made from boards as they no longer are, and which those are."""

    plan: BookedPlan
    boards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """The day as it lies before the workshop.

    unread: how many pieces were never read. proposed: plans nobody has acted on whose boards still stand as
    they saw them. waiting: jobs without any plan that stands. steps: open ones of allocated plans.
    """

    stock: RackTotals
    currency: str
    unread: int
    proposed: tuple[BookedPlan, ...]
    changed: tuple[ChangedPlan, ...]
    allocated: tuple[BookedPlan, ...]
    waiting: tuple[str, ...]
    steps: tuple[Step, ...]
    counts: tuple[Stocktake, ...]
    errands: tuple[Errand, ...]


def what_needs_a_hand(open_work: "OpenWork") -> Today:
    """The day's list, from one look at the books."""
    with open_work(reading=True) as work:
        jobs = work.jobs.all()
        version = {job.name: job.version for job in jobs}
        newest: dict[str, BookedPlan] = {}
        for plan in work.plans.find(status=PlanStatus.PROPOSED):
            if plan.job_version == version.get(plan.job):
                newest[plan.job] = plan
        allocated = tuple(work.plans.find(status=PlanStatus.ALLOCATED))
        cut = {plan.job for plan in work.plans.find(status=PlanStatus.CUT)}
        standing = work.pieces.versions({number for plan in newest.values() for number in plan.seen})
        changed = tuple(
            ChangedPlan(plan, moved)
            for plan in newest.values()
            if (moved := tuple(n for n, seen in plan.seen.items() if standing[n] != seen))
        )
        outdated = {each.plan.number for each in changed}
        served = cut | {plan.job for plan in allocated}
        proposed = tuple(
            plan for plan in newest.values() if plan.number not in outdated and plan.job not in served
        )
        return Today(
            stock=work.rack.totals(RackQuery()),
            currency=work.workshop.currency,
            unread=work.pieces.count(UNREAD),
            proposed=proposed,
            changed=tuple(each for each in changed if each.plan.job not in served),
            allocated=allocated,
            waiting=tuple(job.name for job in jobs if job.name not in served and job.name not in newest),
            steps=tuple(
                step
                for plan in allocated
                for step in work.steps.find(plan=plan.number)
                if step.state is StepState.OPEN
            ),
            counts=tuple(each for each in work.stocktakes.all() if each.is_open),
            errands=work.errands.find(states=(ErrandState.WAITING, ErrandState.RUNNING)),
        )
