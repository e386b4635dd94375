"""Dispose of a board: it leaves the stock, and what it stood for is a loss, or a cost of its job."""

from typing import TYPE_CHECKING

from stockyard.errors import BadInput, BoardNotFree, Fault
from stockyard.ledger import balanced
from stockyard.records import retried
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


def dispose_board(open_work: "OpenWork", number: str, *, reason: str, who: str = "") -> Piece:
    """Take a piece off hand for good, for a stated reason. Returns it as it stands then.

    What it stood for is a loss; of a stave spoiled on its way to a panel, the job bears it.
    Raises NotFound, BadInput without a reason, and BoardNotFree when it is promised or gone already.
    """
    return retried(open_work, lambda work: _dispose(work, number, reason.strip()), who=who)


def _dispose(work: "UnitOfWork", number: str, reason: str) -> Piece:
    if not reason:
        raise BadInput(f"{number} was not disposed of.", [Fault("reason", "why it is disposed of")])
    piece = held_on_hand(work, number)
    if piece.promised_to is not None:
        raise BoardNotFree(f"{number} is promised to plan {piece.promised_to}; release that plan first.")
    line = Line(number, -1, 0, -piece.value, -piece.volume_mm3)
    plan = piece.cut_by if piece.kind is PieceKind.STAVE else None
    job = None if plan is None else work.plans.get(plan).job
    against = Account.LOSSES if job is None else Account.JOBS
    work.movements.book(
        Movement(MovementKind.DISPOSE, balanced([line], against, job), work.today, reason, plan=plan)
    )
    return work.pieces.get(number)


def held_on_hand(work: "UnitOfWork", number: str) -> Piece:
    """A piece on hand, held until the unit of work ends. Raises NotFound, BoardNotFree when it is gone."""
    work.pieces.lock([number])
    piece = work.pieces.get(number)
    if not piece.on_hand:
        raise BoardNotFree(f"{number} is no longer on hand.")
    return piece
