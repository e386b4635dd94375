"""Take a movement back that should not have been booked. Both stay in the book."""

from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused
from stockyard.ledger import reversal
from stockyard.records import retried
from stockyard.services.allocate_plan import plan_of
from stockyard.services.treatment_steps import open_treatments
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import Piece
from stockyard.timber.step import StepState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

UNDONE_OTHERWISE = {
    MovementKind.ALLOCATE: "release its plan instead",
    MovementKind.RELEASE: "allocate its plan again instead",
    MovementKind.REVERSE: "book again what it took back",
    MovementKind.COUNT: "measure the piece again instead",
}
"""Kinds that have a way back of their own, and which."""


def reverse_movement(open_work: "OpenWork", number: int, *, reason: str, who: str = "") -> Movement:
    """Book the opposite of a movement, for a stated reason, and return that.

    A cut taken back makes its boards whole and promised again; a receipt taken back lets its docket be
    received anew. Raises NotFound, BadInput without a reason, and Refused when it was taken back before, has
    a way back of its own, or its pieces have since been changed by something that must be undone first.
    """
    return retried(open_work, lambda work: _reverse(work, number, reason.strip()), who=who)


def _reverse(work: "UnitOfWork", number: int, reason: str) -> Movement:
    booked = work.movements.get(number)
    if not reason:
        raise BadInput(f"Movement {number} was not taken back.", [Fault("reason", "why it was wrong")])
    # A count that booked a piece out is taken back when the piece turns up after all.
    lost = booked.kind is MovementKind.COUNT and any(line.on_hand or line.supply for line in booked.lines)
    if booked.kind in UNDONE_OTHERWISE and not lost:
        raise Refused(
            f"Movement {number} ({booked.kind}) is not taken back; {UNDONE_OTHERWISE[booked.kind]}."
        )
    if booked.plan is not None:
        work.plans.get(booked.plan, hold=True)
    numbers = [line.piece for line in booked.lines if line.piece is not None]
    work.pieces.lock(numbers)
    again = work.movements.reversed_by(number)
    if again is not None:
        raise Refused(f"Movement {number} was taken back already, by movement {again}.")
    back = reversal(booked, work.today, reason)
    standing = work.pieces.get_many(numbers)
    stuck = [line.piece for line in back.lines if line.piece and not _fits(line, standing[line.piece])]
    if stuck:
        raise Refused(
            f"Movement {number} cannot be taken back: {', '.join(stuck)} changed after it. Undo that first."
        )
    _refuse_empty_shelves(work, number, back)
    if booked.kind is MovementKind.CUT and booked.plan is not None:
        _uncut(work, booked.plan, numbers)
    return work.movements.get(work.movements.book(back))


def _refuse_empty_shelves(work: "UnitOfWork", number: int, back: Movement) -> None:
    """A shelf of consumables must be sound afterwards: nothing below zero, and an empty one worth nothing."""
    named = {line.supply for line in back.lines if line.supply is not None}
    if not named:
        return
    work.supplies.lock(named)
    shelves = work.supplies.shelves()
    for name in sorted(named):
        lines = [line for line in back.lines if line.supply == name]
        quantity = shelves[name].quantity + sum(line.quantity for line in lines)
        value = shelves[name].value + sum(line.value for line in lines)
        if quantity < 0 or value < 0 or (value and not quantity):
            raise Refused(
                f"Movement {number} cannot be taken back: {name} was used or counted after it."
                " Undo that first."
            )


def _fits(line: Line, piece: Piece) -> bool:
    """Would the piece be sound with this line added: there once or not at all, and gone with everything?"""
    on_hand = int(piece.on_hand) + line.on_hand
    promised = int(piece.promised_to is not None) + line.promised
    value, volume = piece.value + line.value, piece.volume_mm3 + line.volume_mm3
    if on_hand not in (0, 1) or promised not in (0, 1) or value < 0 or volume < 0:
        return False
    return on_hand == 1 or not (promised or value or volume)


def _uncut(work: "UnitOfWork", plan: int, pieces: list[str]) -> None:
    """The plan is allocated again; a step that followed its defect into a stave is asked for on the board."""
    for step in work.steps.find(plan=plan, state=StepState.OPEN):
        if step.piece in pieces:
            work.steps.drop(step.id or 0)
    work.steps.add(open_treatments(work, plan_of(work, work.plans.get(plan)), plan))
    work.plans.set_status(plan, PlanStatus.CUT, PlanStatus.ALLOCATED)
