"""Allocate a plan: promise all of its boards to it, or none."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from stockyard.errors import BoardNotFree, PlanOutOfDate, Refused
from stockyard.records import Contended, retried
from stockyard.selection.interchange import read_plan
from stockyard.services.jobs import job_of
from stockyard.services.tell_change import told
from stockyard.services.treatment_steps import open_treatments
from stockyard.timber import Plan
from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import Piece
from stockyard.timber.step import Step, StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

UNSEEN = ("ring_angle_deg", "place", "note")


def allocate_plan(open_work: "OpenWork", number: int, *, who: str = "") -> tuple[Step, ...]:
    """Promise a plan's boards to it, open the steps that its treated defects need, and return those.

    Checks again that every board is still as the plan saw it. Of several who allocate at once, one wins a
    board and the others are told so.
    Raises NotFound; BoardNotFree or PlanOutOfDate naming every board that stands in the way and why; Refused
    when the plan is allocated or cut already, or cuts nothing.
    """
    return retried(open_work, lambda work: _allocate(work, number), who=who)


def plan_of(work: "UnitOfWork", booked: BookedPlan) -> Plan:
    """A booked plan's values, read under the job it was made for."""
    as_planned = next(job for job in work.jobs.history(booked.job) if job.version == booked.job_version)
    return read_plan(dict(booked.document), job_of(work, as_planned))


def _allocate(work: "UnitOfWork", number: int) -> tuple[Step, ...]:
    booked = work.plans.get(number, hold=True)
    if booked.status in (PlanStatus.ALLOCATED, PlanStatus.CUT):
        raise Refused(f"Plan {number} is {booked.status} already.")
    if not booked.seen:
        raise Refused(f"Plan {number} cuts no board, so there is nothing to allocate.")
    work.pieces.lock(booked.seen)
    boards = work.pieces.get_many(booked.seen)
    _refuse_taken(number, boards.values())
    _refuse_changed(work, booked, boards)
    if not work.pieces.promise(number, booked.seen):
        # The rows are held, so only a database that forgets its locks could bring us here.
        raise Contended(f"The boards of plan {number} changed while it was being allocated; try again.")
    work.movements.book(
        Movement(
            kind=MovementKind.ALLOCATE,
            lines=tuple(Line(board, promised=1) for board in sorted(booked.seen)),
            effective=work.today,
            cause=f"plan {number} for {booked.job}",
            plan=number,
        )
    )
    work.steps.add(open_treatments(work, plan_of(work, booked), number))
    work.plans.set_status(number, booked.status, PlanStatus.ALLOCATED)
    return tuple(work.steps.find(plan=number, state=StepState.OPEN))


def _refuse_taken(number: int, boards: Iterable[Piece]) -> None:
    taken = [
        f"{board.number} is promised to plan {board.promised_to}"
        if board.on_hand
        else f"{board.number} is no longer on hand"
        for board in boards
        if not board.on_hand or board.promised_to is not None
    ]
    if taken:
        raise BoardNotFree(f"Plan {number} cannot be allocated: {'; '.join(taken)}. Plan the job again.")


def _refuse_changed(work: "UnitOfWork", booked: BookedPlan, boards: Mapping[str, Piece]) -> None:
    changed = [
        f"{board.number}: {_changes(work, board.number, booked.seen[board.number])}"
        for board in boards.values()
        if board.version != booked.seen[board.number]
    ]
    if changed:
        raise PlanOutOfDate(
            f"Plan {booked.number} was made before its boards changed ({'; '.join(changed)})."
            " Plan the job again."
        )


def _changes(work: "UnitOfWork", number: str, seen: int) -> str:
    changes = [
        change
        for change in work.pieces.history(number)
        if change.version > seen and change.fact not in UNSEEN
    ]
    return ", ".join(map(told, changes)) or "changed"
