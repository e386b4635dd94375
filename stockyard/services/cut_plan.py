"""Cut a plan: its boards end, and their staves and offcuts begin."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, PlanOutOfDate, Refused, StepOpen
from stockyard.ledger import OffcutPolicy
from stockyard.records import retried
from stockyard.services.allocate_plan import plan_of
from stockyard.services.cut_board import CutOutcome, cut_board
from stockyard.timber import Plan
from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece
from stockyard.timber.step import Before, Step, StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

StavePlace = tuple[str, int]
"""A stave: its panel's id and its place in it, 0 first."""

OffcutPlace = tuple[str, int]
"""An offcut: its board's number and its place among that board's offcuts in the plan, 0 first."""


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A stave that was lost at the saw, and what the job bears for it."""

    panel: str
    stave: int
    board: str
    value: Decimal


@dataclass(frozen=True, slots=True)
class CutRecord:
    """What a plan's cutting booked.

    value_in: what the boards stood for; staves, offcuts and spoiled staves stand for the same to the cent.
    """

    plan: BookedPlan
    movement: int
    boards: tuple[str, ...]
    staves: tuple[Piece, ...]
    offcuts: tuple[Piece, ...]
    spoiled: tuple[Spoiled, ...]
    value_in: Decimal
    open_steps: tuple[Step, ...]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every new piece, staves first."""
        return (*self.staves, *self.offcuts)


def cut_plan(
    open_work: "OpenWork",
    number: int,
    *,
    spoiled: Collection[StavePlace] = (),
    not_kept: Collection[OffcutPlace] = (),
    widths_mm: Mapping[StavePlace, float] | None = None,
    racked: Mapping[OffcutPlace, str] | None = None,
    force_open_steps: bool = False,
    effective: date | None = None,
    who: str = "",
) -> CutRecord:
    """Book a plan as cut, as it really went, in one movement that balances to the cent.

    spoiled: staves that were lost; the job bears their share. not_kept: offcuts that were thrown away; they
    carry nothing. widths_mm: of rough staves that came off the saw otherwise than planned, kept to the whole
    mm. racked: where offcuts were put, where not at their board's place. force_open_steps: cut
    although a step that should come first is open; it stays open.
    Offcuts and staves take along their part of each defect with its state, the board's bend scaled to their
    size, its readings, origin and place, and their share of its value by the workshop's policy.
    Raises NotFound, BadInput for a stave or offcut that the plan does not have, StepOpen, and Refused when
    the plan is not allocated.
    """
    return retried(
        open_work,
        lambda work: _cut(
            work,
            number,
            set(spoiled),
            set(not_kept),
            widths_mm or {},
            racked or {},
            force_open_steps,
            effective,
        ),
        who=who,
    )


def _cut(
    work: "UnitOfWork",
    number: int,
    spoiled: set[StavePlace],
    not_kept: set[OffcutPlace],
    widths_mm: Mapping[StavePlace, float],
    racked: Mapping[OffcutPlace, str],
    force_open_steps: bool,
    effective: date | None,
) -> CutRecord:
    booked = work.plans.get(number, hold=True)
    if booked.status is not PlanStatus.ALLOCATED:
        hint = "it is cut already" if booked.status is PlanStatus.CUT else "allocate it first"
        raise Refused(f"Plan {number} is {booked.status}, so it cannot be cut; {hint}.")
    day = effective or work.today
    plan = plan_of(work, booked)
    _refuse_unknown(plan, number, spoiled | set(widths_mm), not_kept | set(racked), day, work.today)
    if not force_open_steps:
        _refuse_open(work.steps.find(plan=number, state=StepState.OPEN), number)
    work.pieces.lock(booked.seen)
    boards = work.pieces.get_many(booked.seen)
    _refuse_misfits(plan, number, boards)
    _refuse_widths(plan, number, boards, widths_mm)

    policy = OffcutPolicy(work.workshop.offcut_policy_on(day))
    outcomes = [
        cut_board(work, plan, cut, boards[cut.id], number, policy, spoiled, not_kept, widths_mm, racked)
        for cut in plan.boards
    ]
    value_in = sum((boards[cut.id].value for cut in plan.boards), Decimal(0))
    lost = [
        Spoiled(panel, stave, outcome.board, share)
        for outcome in outcomes
        for panel, stave, share in outcome.spoiled
    ]
    movement = work.movements.book(
        Movement(
            kind=MovementKind.CUT,
            lines=(
                *(line for outcome in outcomes for line in outcome.lines),
                *(
                    Line(value=each.value, account=Account.JOBS, job=booked.job)
                    for each in lost
                    if each.value
                ),
            ),
            effective=day,
            cause=_cause(booked, lost),
            plan=number,
        )
    )
    _carry_steps(work, number, outcomes)
    work.plans.set_status(number, PlanStatus.ALLOCATED, PlanStatus.CUT)
    new = [piece for outcome in outcomes for piece in (*outcome.staves, *outcome.offcuts)]
    standing = work.pieces.get_many(piece.number for piece in new)
    return CutRecord(
        plan=work.plans.get(number),
        movement=movement,
        boards=tuple(cut.id for cut in plan.boards),
        staves=tuple(standing[piece.number] for outcome in outcomes for piece in outcome.staves),
        offcuts=tuple(standing[piece.number] for outcome in outcomes for piece in outcome.offcuts),
        spoiled=tuple(lost),
        value_in=value_in,
        open_steps=tuple(work.steps.find(plan=number, state=StepState.OPEN)),
    )


def _cause(booked: BookedPlan, lost: list[Spoiled]) -> str:
    spoiled = ", ".join(f"stave {each.stave + 1} of {each.panel} from {each.board}" for each in lost)
    return f"plan {booked.number} for {booked.job}" + (f"; spoiled: {spoiled}" if lost else "")


def _refuse_unknown(
    plan: Plan,
    number: int,
    spoiled: set[StavePlace],
    not_kept: set[OffcutPlace],
    day: date,
    today: date,
) -> None:
    staves = {(panel.id, place) for panel in plan.panels for place in range(len(panel.staves))}
    offcuts = {(cut.id, place) for cut in plan.boards for place in range(len(cut.offcuts))}
    faults = [
        Fault("spoiled", f"a stave of plan {number}", f"stave {place + 1} of {panel}")
        for panel, place in sorted(spoiled - staves)
    ]
    faults += [
        Fault("not kept", f"an offcut of plan {number}", f"offcut {place + 1} of {board}")
        for board, place in sorted(not_kept - offcuts)
    ]
    if day > today:
        faults.append(Fault("date", f"a day up to today, {today}", str(day)))
    if faults:
        raise BadInput(f"Plan {number} cannot be cut so.", faults)


def _refuse_open(steps: list[Step], number: int) -> None:
    first = [step for step in steps if step.before is Before.CUTTING]
    if first:
        named = "; ".join(f"step {step.id}: {step.kind} {step.defect} with {step.method}" for step in first)
        raise StepOpen(
            f"Plan {number} has steps that come before cutting ({named}). Do them, or say to go on."
        )


def _refuse_misfits(plan: Plan, number: int, boards: dict[str, Piece]) -> None:
    """A board that was found smaller after it was promised may no longer hold what is to be cut from it."""
    misfits = [
        f"{board.number} is {board.length_mm:g} x {board.width_mm:g} mm"
        for cut in plan.boards
        for board in [boards[cut.id]]
        if any(
            section.x1 > board.length_mm or any(strip.y1 > board.width_mm for strip in section.strips)
            for section in cut.sections
        )
    ]
    if misfits:
        raise PlanOutOfDate(
            f"Plan {number} does not fit its boards as they were measured since ({'; '.join(misfits)})."
            " Release it and plan the job again."
        )


def _refuse_widths(
    plan: Plan, number: int, boards: dict[str, Piece], widths_mm: Mapping[StavePlace, float]
) -> None:
    staves = {(made.id, place): stave for made in plan.panels for place, stave in enumerate(made.staves)}
    room = {
        key: boards[staves[key].board].width_mm - staves[key].rough.y0
        for key in widths_mm
        if staves[key].board in boards
    }
    faults = [
        Fault(
            f"width of stave {place + 1} of {panel}", f"1 to {room.get((panel, place), 0):g} mm", f"{width:g}"
        )
        for (panel, place), width in sorted(widths_mm.items())
        if not 1 <= width <= room.get((panel, place), 0)
    ]
    if faults:
        raise BadInput(f"Plan {number} cannot be cut so.", faults)


def _carry_steps(work: "UnitOfWork", number: int, outcomes: list[CutOutcome]) -> None:
    """Open steps follow their defects into the staves; one whose defect is in no stave is dropped."""
    heirs: dict[str, list[tuple[str, str]]] = {}
    for outcome in outcomes:
        for parent_defect, heir in outcome.heirs:
            heirs.setdefault(parent_defect, []).append(heir)
    for step in work.steps.find(plan=number, state=StepState.OPEN):
        followed = heirs.get(step.defect, [])
        if not followed:
            work.steps.drop(step.id or 0)
            continue
        for piece, defect in followed[1:]:
            work.steps.copy(step.id or 0, piece, defect)
        work.steps.carry(step.id or 0, *followed[0])
