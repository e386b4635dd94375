"""Finish panels of a plan: their staves are glued up, leave the stock, and the job bears their worth."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused, StepOpen
from stockyard.ledger import balanced
from stockyard.records import retried
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind
from stockyard.timber.rack_query import RackQuery
from stockyard.timber.step import StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class FinishRecord:
    """What was finished. value: what the staves stood for, which the job bears now."""

    plan: int
    job: str
    panels: tuple[str, ...]
    staves: tuple[str, ...]
    value: Decimal
    currency: str
    movement: int


def finish_plan(
    open_work: "OpenWork",
    number: int,
    *,
    panels: Collection[str] = (),
    force_open_steps: bool = False,
    effective: date | None = None,
    who: str = "",
) -> FinishRecord:
    """Book panels of a cut plan as made: their staves end, and what they stood for is a cost of the job.

    panels: all that still have staves when none is named. force_open_steps: although a treatment of one of
    the staves is open. Raises NotFound, BadInput for a panel with no staves left or a day to come, StepOpen,
    and Refused when the plan is not cut or nothing of it is left.
    """
    return retried(
        open_work, lambda work: _finish(work, number, set(panels), force_open_steps, effective), who=who
    )


def _finish(
    work: "UnitOfWork", number: int, panels: set[str], force_open_steps: bool, effective: date | None
) -> FinishRecord:
    booked = work.plans.get(number, hold=True)
    if booked.status is not PlanStatus.CUT:
        raise Refused(f"Plan {number} is {booked.status}; only what is cut can be finished.")
    day = effective or work.today
    staves = _staves(work, number)
    there = {stave.panel or "" for stave in staves}
    faults = [
        Fault("panel", f"one that has staves: {', '.join(sorted(there)) or 'none'}", repr(panel))
        for panel in sorted(panels - there)
    ]
    if day > work.today:
        faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
    if faults:
        raise BadInput(f"Plan {number} cannot be finished so.", faults)
    if not staves:
        raise Refused(f"Plan {number} has no staves left that could become a panel.")
    wanted = panels or there
    glued = [stave for stave in staves if (stave.panel or "") in wanted]
    numbers = [stave.number for stave in glued]
    work.pieces.lock(numbers)
    if not force_open_steps:
        _refuse_open(work, number, set(numbers))
    lines = [Line(stave.number, -1, 0, -stave.value, -stave.volume_mm3) for stave in glued]
    movement = work.movements.book(
        Movement(
            MovementKind.FINISH,
            balanced(lines, Account.JOBS, booked.job),
            day,
            f"made {', '.join(sorted(wanted))} of {booked.job}",
            plan=number,
        )
    )
    return FinishRecord(
        plan=number,
        job=booked.job,
        panels=tuple(sorted(wanted)),
        staves=tuple(numbers),
        value=sum((stave.value for stave in glued), Decimal(0)),
        currency=work.workshop.currency,
        movement=movement,
    )


def _staves(work: "UnitOfWork", number: int) -> list[Piece]:
    return work.pieces.find(RackQuery(kinds=(PieceKind.STAVE,), cut_by=number))


def _refuse_open(work: "UnitOfWork", number: int, pieces: set[str]) -> None:
    still = [step for step in work.steps.find(plan=number, state=StepState.OPEN) if step.piece in pieces]
    if still:
        named = "; ".join(f"step {step.id}: {step.kind} {step.defect} with {step.method}" for step in still)
        raise StepOpen(f"Staves of plan {number} have treatments open ({named}). Do them, or say to go on.")
