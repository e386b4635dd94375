"""Write a board down: it stays, and is worth less than it cost."""

from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.ledger import balanced
from stockyard.measures.money import exact
from stockyard.records import retried
from stockyard.services.dispose_board import held_on_hand
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


def write_down_board(open_work: "OpenWork", number: str, *, to: Decimal, reason: str, who: str = "") -> Piece:
    """Let a piece stand for `to` from now on, less than it does, for a stated reason, and return it.

    to: what it would sell for, net; money of the yard's currency, >= 0.
    Raises NotFound, BadInput with every fault, and BoardNotFree when it is gone.
    Source: AASB 102 Inventories (= IAS 2), paragraph 9, the lower of cost and net realisable value.
    """
    return retried(open_work, lambda work: _write_down(work, number, to, reason.strip()), who=who)


def _write_down(work: "UnitOfWork", number: str, to: Decimal, reason: str) -> Piece:
    piece = held_on_hand(work, number)
    worth = exact(to, work.workshop.currency, "value")
    faults = []
    if not 0 <= worth < piece.value:
        faults.append(Fault("value", f"from 0 to less than {piece.value}, what it stands for", str(to)))
    if not reason:
        faults.append(Fault("reason", "why it is worth less"))
    if faults:
        raise BadInput(f"{number} was not written down.", faults)
    line = Line(number, value=worth - piece.value)
    work.movements.book(
        Movement(MovementKind.WRITE_DOWN, balanced([line], Account.WRITE_DOWNS), work.today, reason)
    )
    return work.pieces.get(number)
