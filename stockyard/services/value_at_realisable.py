"""Lower of cost and net realisable value: write boards down to what they would sell for, and up again."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.ledger import balanced
from stockyard.ledger.realisable import carried
from stockyard.measures.money import exact, rounded
from stockyard.records import retried
from stockyard.services.dispose_board import held_on_hand
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

MM3_PER_M3 = 10**9


@dataclass(frozen=True, slots=True)
class Valued:
    """One piece valued. cost: had it never been written down; stood, stands: before and after; all money."""

    number: str
    species: str
    cost: Decimal
    realisable: Decimal
    stood: Decimal
    stands: Decimal

    @property
    def change(self) -> Decimal:
        """Below 0 for a write-down, above 0 for one taken back."""
        return self.stands - self.stood


@dataclass(frozen=True, slots=True)
class Valuation:
    """Pieces that change what they stand for. looked_at: how many were valued. booked: False if not."""

    currency: str
    looked_at: int
    changed: tuple[Valued, ...]
    booked: bool

    @property
    def written_down(self) -> Decimal:
        """The sum of the write-downs, 0 or more."""
        return -sum((each.change for each in self.changed if each.change < 0), Decimal(0))

    @property
    def written_up(self) -> Decimal:
        """The sum of what was taken back of write-downs."""
        return sum((each.change for each in self.changed if each.change > 0), Decimal(0))


def value_board(
    open_work: "OpenWork", number: str, realisable: Decimal, *, reason: str, who: str = ""
) -> Valued:
    """Let a piece stand for the lower of its cost and what it would sell for, net.

    Raises NotFound, BadInput with every fault, and BoardNotFree when it is gone.
    """

    def value(work: "UnitOfWork") -> Valued:
        piece = held_on_hand(work, number)
        worth = exact(realisable, work.workshop.currency, "net realisable value")
        _refuse(worth, reason)
        (valued,) = _judged(work, [piece], lambda _: worth)
        _book(work, [valued], reason.strip())
        return valued

    return retried(open_work, value, who=who)


def value_stock(
    open_work: "OpenWork",
    per_m3: Decimal,
    *,
    reason: str,
    species: str | None = None,
    thickness_mm: float | None = None,
    docket: str | None = None,
    kind: str | None = None,
    only_look: bool = False,
    who: str = "",
) -> Valuation:
    """Value boards and offcuts on hand one by one at what a cubic metre would sell for, net of selling it.

    One that stands for more is written down; one that was written down and would sell for more again is
    written up, to what it cost at most. species, thickness_mm, docket, kind ("board" or "offcut"): which; all
    when None. reason: what says so, such as a price list. only_look: book nothing.
    Raises NotFound for a species nobody knows, BadInput with every fault.
    Source: AASB 102 Inventories (= IAS 2), paragraphs 9, 28 to 33, item by item.
    """
    kinds = (PieceKind.BOARD, PieceKind.OFFCUT)

    def value(work: "UnitOfWork") -> Valuation:
        _refuse(per_m3, reason)
        if kind is not None and kind not in [each.value for each in kinds]:
            raise BadInput("Nothing was valued.", [Fault("kind", "board or offcut", repr(kind))])
        query = RackQuery(
            species=() if species is None else (work.species.get(species).name,),
            kinds=kinds if kind is None else (PieceKind(kind),),
            thickness_at_least_mm=thickness_mm,
            thickness_at_most_mm=thickness_mm,
            delivery=docket,
        )
        numbers = [piece.number for piece in work.pieces.find(query)]
        if not only_look:
            work.pieces.lock(numbers)
        currency = work.workshop.currency
        pieces = [piece for piece in work.pieces.get_many(numbers).values() if piece.on_hand]
        valued = _judged(
            work, pieces, lambda piece: rounded(per_m3 * piece.volume_mm3 / MM3_PER_M3, currency)
        )
        changed = [each for each in valued if each.change]
        if not only_look:
            _book(work, changed, reason.strip())
        return Valuation(currency, len(pieces), tuple(changed), booked=not only_look)

    return retried(open_work, value, who=who)


def _refuse(amount: Decimal, reason: str) -> None:
    faults = []
    if not amount.is_finite() or amount < 0:
        faults.append(Fault("net realisable value", "0 or more", f"{amount}"))
    if not reason.strip():
        faults.append(Fault("reason", "what says that it would sell for so much"))
    if faults:
        raise BadInput("Nothing was valued.", faults)


def _judged(work: "UnitOfWork", pieces: list[Piece], realisable: Callable[[Piece], Decimal]) -> list[Valued]:
    written = work.proofs.written_down(piece.number for piece in pieces)
    judged = []
    for piece in pieces:
        cost = piece.value + written.get(piece.number, Decimal(0))
        sells_for = realisable(piece)
        judged.append(
            Valued(piece.number, piece.species, cost, sells_for, piece.value, carried(cost, sells_for))
        )
    return judged


def _book(work: "UnitOfWork", valued: list[Valued], reason: str) -> None:
    for kind, some in (
        (MovementKind.WRITE_DOWN, [each for each in valued if each.change < 0]),
        (MovementKind.WRITE_UP, [each for each in valued if each.change > 0]),
    ):
        if some:
            lines = [Line(each.number, value=each.change) for each in some]
            work.movements.book(Movement(kind, balanced(lines, Account.WRITE_DOWNS), work.today, reason))
