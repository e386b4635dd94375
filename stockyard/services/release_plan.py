"""Release a plan: its boards are free again."""

from typing import TYPE_CHECKING

from stockyard.errors import Refused
from stockyard.records import retried
from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.step import StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


def release_plan(open_work: "OpenWork", number: int, *, cause: str = "", who: str = "") -> BookedPlan:
    """Free the boards promised to a plan, and drop its steps that are still open. What was done stays done.

    Raises NotFound, and Refused when the plan is not allocated.
    """
    return retried(open_work, lambda work: _release(work, number, cause), who=who)


def _release(work: "UnitOfWork", number: int, cause: str) -> BookedPlan:
    booked = work.plans.get(number, hold=True)
    if booked.status is not PlanStatus.ALLOCATED:
        raise Refused(f"Plan {number} is {booked.status}, not allocated, so there is nothing to release.")
    work.movements.book(
        Movement(
            kind=MovementKind.RELEASE,
            lines=tuple(Line(board, promised=-1) for board in sorted(booked.seen)),
            effective=work.today,
            cause=cause or f"plan {number} for {booked.job} given up",
            plan=number,
        )
    )
    for step in work.steps.find(plan=number, state=StepState.OPEN):
        work.steps.drop(step.id or 0)
    work.plans.set_status(number, PlanStatus.ALLOCATED, PlanStatus.RELEASED)
    return work.plans.get(number)
