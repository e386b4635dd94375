"""Add a cost to boards that are there: milling, drying, whatever brought them to their present condition."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotFound
from stockyard.ledger import balanced
from stockyard.measures.money import apportion, exact
from stockyard.records import retried
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


class CostBy(StrEnum):
    """What an added cost is shared by."""

    VOLUME = "volume"
    VALUE = "value"
    EACH = "each"


@dataclass(frozen=True, slots=True)
class AddedCost:
    """What was added to which pieces; the shares add up to `amount` to the cent."""

    amount: Decimal
    currency: str
    shares: tuple[tuple[str, Decimal], ...]
    movement: int


def add_cost(
    open_work: "OpenWork",
    amount: Decimal,
    *,
    what: str,
    numbers: Sequence[str] = (),
    docket: str | None = None,
    place: str | None = None,
    by: str = "volume",
    effective: date | None = None,
    who: str = "",
) -> AddedCost:
    """Share a cost out over boards and offcuts on hand, which stand for that much more from then on.

    amount: > 0, without tax that comes back. what: what it was for, such as "kiln drying". numbers, docket,
    place: which pieces; at least one. by: a word of CostBy. Raises NotFound, BadInput with every fault.
    Source: AASB 102 Inventories (= IAS 2), paragraphs 10 and 12: costs of conversion are part of cost.
    """

    def add(work: "UnitOfWork") -> AddedCost:
        pieces = _pieces(work, numbers, docket, place)
        currency = work.workshop.currency
        worth = exact(amount, currency, "amount")
        day = effective or work.today
        faults = [] if worth > 0 else [Fault("amount", "above 0", f"{amount}")]
        faults += [] if what.strip() else [Fault("what", "what the cost was for, such as kiln drying")]
        faults += [] if by in list(CostBy) else [Fault("by", f"one of {', '.join(CostBy)}", repr(by))]
        if day > work.today:
            faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
        faults += [
            Fault(
                each.number, "a board on hand, not a stave in work", "gone" if not each.on_hand else "a stave"
            )
            for each in pieces
            if not each.on_hand or each.kind is PieceKind.STAVE
        ]
        if not pieces and (docket or place):
            faults.append(Fault("docket, place", "boards on hand there", "none"))
        elif not pieces:
            faults.append(Fault("boards", "numbers, a docket or a place"))
        if faults:
            raise BadInput("No cost was added.", faults)
        weights: dict[CostBy, Sequence[Decimal | int]] = {
            CostBy.VOLUME: [each.volume_mm3 for each in pieces],
            CostBy.VALUE: [each.value for each in pieces],
            CostBy.EACH: [1 for _ in pieces],
        }
        shares = apportion(worth, weights[CostBy(by)], currency)
        lines = [Line(each.number, value=share) for each, share in zip(pieces, shares, strict=True) if share]
        movement = work.movements.book(
            Movement(MovementKind.ADD_COST, balanced(lines, Account.CONVERSION), day, what.strip())
        )
        return AddedCost(
            worth,
            currency,
            tuple((each.number, share) for each, share in zip(pieces, shares, strict=True)),
            movement,
        )

    return retried(open_work, add, who=who)


def _pieces(work: "UnitOfWork", numbers: Sequence[str], docket: str | None, place: str | None) -> list[Piece]:
    """The pieces meant, held, by number."""
    named = list(dict.fromkeys(numbers))
    if not named and (docket or place):
        if docket is not None and not any(each.docket == docket for each in work.deliveries.all()):
            raise NotFound("docket", docket)
        query = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), delivery=docket, place=place)
        named = [piece.number for piece in work.pieces.find(query)]
    work.pieces.lock(named)
    return [each for _, each in sorted(work.pieces.get_many(named).items())]
