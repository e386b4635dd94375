"""The marker cards as a PDF to print at 100 %, with a ruler to check the print by."""

import io
from collections.abc import Sequence
from typing import Any

from stockyard.errors import BadInput, MissingPart
from stockyard.photos.cards import (
    CARD_MM,
    MARKER_MM,
    MODULES,
    STATIONS,
    CornerCard,
    known_card,
    marker_modules,
)

_PAGE_MM = (210.0, 297.0)  # A4
_CELL_MM = (60.0, 70.0)  # a card, its words and room to cut
_PER_ROW, _PER_PAGE = 3, 9
_POINTS_PER_MM = 72 / 25.4


def card_sheet(card_ids: Sequence[int] | None = None) -> bytes:
    """The cards on A4 pages. card_ids: which; None for the four corner cards and nine station cards.

    Raises BadInput for an id that no card has, MissingPart without the reportlab library.
    """
    ids = list(card_ids) if card_ids is not None else [*(int(c) for c in CornerCard), *STATIONS[:9]]
    unknown = [one for one in ids if not known_card(one)]
    if unknown or not ids:
        raise BadInput(
            f"There is no card {', '.join(map(str, unknown)) or 'named'}; corner cards are 0 to 3, "
            f"station cards {STATIONS[0]} to {STATIONS[-1]}."
        )
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError as trouble:
        raise MissingPart("The cards are drawn with reportlab; run 'pip install reportlab'.") from trouble
    kept = io.BytesIO()
    sheet = Canvas(kept, pagesize=(_PAGE_MM[0] * _POINTS_PER_MM, _PAGE_MM[1] * _POINTS_PER_MM), invariant=1)
    sheet.setTitle("Marker cards for photographing board faces")
    for start in range(0, len(ids), _PER_PAGE):
        sheet.saveState()
        sheet.scale(_POINTS_PER_MM, _POINTS_PER_MM)
        _head(sheet)
        for place, card_id in enumerate(ids[start : start + _PER_PAGE]):
            left = 15 + _CELL_MM[0] * (place % _PER_ROW)
            top = _PAGE_MM[1] - 48 - _CELL_MM[1] * (place // _PER_ROW)
            _card(sheet, card_id, left, top)
        sheet.restoreState()
        sheet.showPage()
    sheet.save()
    return kept.getvalue()


def _head(sheet: Any) -> None:
    """What to do, and a ruler of 150 mm."""
    top = _PAGE_MM[1]
    sheet.setFillGray(0)
    sheet.setFont("Helvetica-Bold", 5)
    sheet.drawString(15, top - 15, "Marker cards: print at 100 %, not fitted to the page")
    sheet.setFont("Helvetica", 3.4)
    sheet.drawString(
        15, top - 21, "Check: the ruler below is 150 mm long. If not, measure a marker and say its side."
    )
    sheet.drawString(
        15, top - 26, "Cut along the thin lines. Lay cards flat on the face, near the corner they name."
    )
    sheet.setLineWidth(0.25)
    sheet.line(15, top - 40, 165, top - 40)
    for mm in range(151):
        tall = 6 if mm % 10 == 0 else 4 if mm % 5 == 0 else 2.5
        sheet.line(15 + mm, top - 40, 15 + mm, top - 40 + tall)
        if mm % 10 == 0:
            sheet.drawCentredString(15 + mm, top - 44, str(mm))


def _card(sheet: Any, card_id: int, left: float, top: float) -> None:
    """One card, its top left corner at (left, top) in mm from the page's bottom left."""
    sheet.setLineWidth(0.1)
    sheet.setStrokeGray(0.6)
    sheet.rect(left, top - CARD_MM, CARD_MM, CARD_MM)
    sheet.setStrokeGray(0)
    module, inset = MARKER_MM / MODULES, (CARD_MM - MARKER_MM) / 2
    squares = marker_modules(card_id)
    for row in range(MODULES):
        for column in range(MODULES):
            if not squares[row, column]:
                # A hair of overlap, or printers leave white seams between black squares.
                sheet.rect(left + inset + column * module, top - inset - (row + 1) * module, module + 0.01,
                           module + 0.01, stroke=0, fill=1)  # fmt: skip
    words = CornerCard(card_id).says if card_id < 4 else f"STATION {card_id}"
    sheet.setFont("Helvetica-Bold", 3.6)
    sheet.drawCentredString(left + CARD_MM / 2, top - CARD_MM + 2.6, words)
