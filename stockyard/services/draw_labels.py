"""Draw labels for boards: number, a QR code, and what the board is."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stockyard.drawings.drawing import Drawing
from stockyard.drawings.label import A4_STOCKS, Label, LabelStock, label_sheets
from stockyard.errors import BadInput
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork


def draw_labels(
    open_work: "OpenWork",
    numbers: Sequence[str] = (),
    *,
    docket: str | None = None,
    supplier: str | None = None,
    place: str | None = None,
    stock: LabelStock = A4_STOCKS[0],
    skip: int = 0,
    copies: int = 1,
    outlined: bool = False,
    address: str = "",
) -> Drawing:
    """Labels of these boards, in the order named, and of the standing pieces of a docket or a place.

    copies: of each, 1 to 20. address: put before the number in the code, so that a phone opens the board's
    page; the code is the bare number when empty. skip, outlined: as in `label_sheets`.
    Raises NotFound for a number, BadInput when no board is meant.
    """
    if not 1 <= copies <= 20:
        raise BadInput(f"--copies: expected 1 to 20, found {copies}.")
    with open_work(reading=True) as work:
        found = work.pieces.get_many(numbers)
        pieces = [found[number] for number in numbers]
        if docket is not None:
            delivery = work.deliveries.get(docket, supplier)
            pieces += work.pieces.find(RackQuery(delivery=delivery.docket, supplier=delivery.supplier))
        if place is not None:
            pieces += work.pieces.find(RackQuery(place=place))
    if not pieces:
        raise BadInput("No board is meant: name boards, a docket or a place that holds some.")
    pieces = list({piece.number: piece for piece in pieces}.values())
    labels = [_label(piece, address) for piece in pieces for _ in range(copies)]
    name = "labels" if len(pieces) > 1 else f"label-{pieces[0].number}"
    return Drawing(name, "Board labels", tuple(label_sheets(labels, stock, skip, outlined)))


def _label(piece: Piece, address: str) -> Label:
    size = " × ".join(f"{round(each, 1):g}" for each in (piece.length_mm, piece.width_mm, piece.thickness_mm))
    of = f"from {piece.parent}" if piece.parent else ""
    lines = (
        piece.species,
        f"{size} mm",
        of,
        f"docket {piece.delivery}" if piece.delivery else "",
        piece.supplier or "",
    )
    return Label(piece.number, address + piece.number, tuple(line for line in lines if line))
