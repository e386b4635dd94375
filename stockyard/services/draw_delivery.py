"""Draw the record of a delivery: what came, in what state, what it cost, where it is from."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from stockyard.drawings.drawing import Drawing
from stockyard.drawings.written import Block, Field, Heading, Listing, Paragraph, Signing, written_sheets
from stockyard.measures.money import minor_digits
from stockyard.moisture.lot_class import lot_class
from stockyard.timber.delivery import Delivery
from stockyard.timber.mapped_defect import DefectOrigin
from stockyard.timber.movement import Line, MovementKind
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

ROWS, AS_WRITTEN = "rows", "species as written"
"""Where a delivery's provenance keeps what each row of its tally said, and under what name its species."""


def draw_delivery(open_work: "OpenWork", docket: str, supplier: str | None = None) -> Drawing:
    """The record of a docket, to file with it: its boards with landed cost, moisture and flaws, its charges.

    supplier: whose docket, where several have used the number. Raises NotFound, and BadInput when several
    suppliers have used the number and none is named.
    """
    with open_work(reading=True) as work:
        delivery = work.deliveries.get(docket, supplier)
        boards = work.pieces.find(
            RackQuery(
                delivery=delivery.docket,
                supplier=delivery.supplier,
                kinds=(PieceKind.BOARD,),
                status=tuple(PieceStatus),
            )
        )
        landed = _landed(work, boards)
        numbers = [board.number for board in boards if board.number in landed]
        maps = work.defects.of_pieces(numbers)
        flaws = {
            number: sum(each.origin is not DefectOrigin.INHERITED for each in maps.get(number, ()))
            for number in numbers
        }
        came = [board for board in boards if board.number in landed]
    blocks: list[Block] = [
        _boards(delivery, came, landed, flaws),
        *_dryness(came),
        *_cost(delivery),
        *_origin(delivery.provenance),
        Heading("Received"),
        Signing(("received by", "date", "checked against the docket by")),
    ]
    pages = written_sheets(
        f"Docket {delivery.docket}",
        "delivery record",
        blocks,
        under=[
            f"{delivery.supplier}. Received {delivery.received_on:%d %B %Y},"
            f" measured {delivery.measure.value}; booked by {delivery.who or 'nobody named'}"
            + (f" from {delivery.source_file}." if delivery.source_file else "."),
        ],
        foot=("Landed cost without recoverable tax. Lift long or heavy boards with help.", ""),
    )
    return Drawing(f"delivery-{delivery.docket}", f"Delivery record of docket {docket}", tuple(pages))


def _landed(work: "UnitOfWork", boards: list[Piece]) -> dict[str, Line]:
    """What each board brought when it was received, those taken back again left out."""
    landed: dict[str, Line] = {}
    if not boards:
        return landed
    for movement in work.movements.of_piece(boards[0].number):
        taken_back = movement.id is not None and work.movements.reversed_by(movement.id) is not None
        if movement.kind is MovementKind.RECEIVE and not taken_back:
            landed.update({line.piece: line for line in movement.lines if line.piece is not None})
    return landed


def _boards(
    delivery: Delivery, boards: list[Piece], landed: Mapping[str, Line], flaws: Mapping[str, int]
) -> Listing:
    volume = sum(landed[board.number].volume_mm3 for board in boards)
    cost = sum((landed[board.number].value for board in boards), Decimal(0))
    return Listing(
        (
            Field("board", 20, bold=True),
            Field("species", 28),
            Field("as invoiced", 30),
            Field("size now, mm", 30, right=True),
            Field("came, m3", 15, right=True),
            Field(f"landed, {delivery.currency}", 20, right=True),
            Field("moisture", 17, right=True),
            Field("flaws", 11, right=True),
        ),
        [
            (
                board.number,
                board.species,
                _invoiced(delivery.provenance, board),
                f"{board.length_mm:g} × {board.width_mm:g} × {board.thickness_mm:g}",
                _cubic(landed[board.number].volume_mm3),
                _money(landed[board.number].value, delivery.currency),
                "not read" if board.moisture_pct is None else f"{board.moisture_pct:.1f} %",
                str(flaws[board.number]),
            )
            for board in boards
        ],
        tick=True,
        last=(f"{len(boards)} boards", "", "", "", _cubic(volume), _money(cost, delivery.currency), "", ""),
    )


def _dryness(boards: list[Piece]) -> list[Block]:
    read = [board.moisture_pct for board in boards if board.moisture_pct is not None]
    if not read:
        return [Paragraph("No board's moisture was read.")]
    mean = sum(read) / len(read)
    return [
        Paragraph(
            f"Moisture as it stands: mean {mean:.1f} % of {len(read)} boards read, {min(read):.1f} to"
            f" {max(read):.1f} %. Target met by the limits of EN 14298 (an aid, not a certificate):"
            f" {lot_class(read)}."
        )
    ]


def _cost(delivery: Delivery) -> list[Block]:
    charges = sum(delivery.charges.values(), Decimal(0))
    rows = [("timber", delivery.goods), *delivery.charges.items()]
    return [
        Heading("What it cost"),
        Listing(
            (Field("", 60), Field(delivery.currency, 25, right=True), Field("", 90)),
            [
                *((name, _money(amount, delivery.currency), "") for name, amount in rows),
                (
                    "landed cost",
                    _money(delivery.goods + charges, delivery.currency),
                    "what the boards stand for",
                ),
                ("recoverable tax", _money(delivery.tax, delivery.currency), "not part of what they cost"),
            ],
            last=("docket total", _money(delivery.total, delivery.currency), ""),
        ),
    ]


def _origin(provenance: Mapping[str, Any]) -> list[Block]:
    told = {name: value for name, value in provenance.items() if name != ROWS}
    if not told:
        return [Heading("Where it is from"), Paragraph("The docket says nothing of it.")]
    return [
        Heading("Where it is from"),
        Listing(
            (Field("", 45), Field("as its papers say", 130)),
            [(name.replace("_", " "), _said(value)) for name, value in sorted(told.items())],
        ),
    ]


def _invoiced(provenance: Mapping[str, Any], board: Piece) -> str:
    """What the tally's own row says of a board besides its size: its mark, its grade."""
    said = dict(provenance.get(ROWS) or {}).get(str(board.row)) or {}
    return ", ".join(str(value) for name, value in said.items() if name != AS_WRITTEN)


def _said(value: Any) -> str:
    return ", ".join(str(each) for each in value) if isinstance(value, list | tuple) else str(value)


def _cubic(volume_mm3: int) -> str:
    return f"{Decimal(volume_mm3).scaleb(-9):.4f}"


def _money(amount: Decimal, currency: str) -> str:
    return f"{amount:,.{minor_digits(currency)}f}"
