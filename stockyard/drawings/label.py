"""Labels for boards: a number to read from the rack and a code to read with a phone, on sheets or single."""

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.drawings.lettering import fitted, size_to_fit
from stockyard.drawings.sheet import (
    A4_PORTRAIT_MM,
    HAIR,
    SOFT,
    Boxes,
    Group,
    Mark,
    Shape,
    Sheet,
    Words,
    rectangle,
)
from stockyard.errors import BadInput, Fault

QUIET_MODULES = 4
"""White modules kept around a code. Source: ISO/IEC 18004, quiet zone of QR Code."""

_LEAST_MODULE_MM = (
    0.33  # what a label printer of 203 dots to the inch sets in no fewer than two and a half dots
)
_PAD_MM = 1.5


@dataclass(frozen=True, slots=True)
class LabelStock:
    """How labels lie on what is printed. [mm]

    columns, rows: of labels on an A4 page; both 1 and page None for a label printer's single labels.
    across_mm: between columns. The labels are centred on the page.
    """

    width_mm: float
    height_mm: float
    columns: int = 1
    rows: int = 1
    across_mm: float = 0.0
    page_mm: tuple[float, float] | None = None

    @property
    def name(self) -> str:
        """As it is asked for: 70x37."""
        return f"{self.width_mm:g}x{self.height_mm:g}"

    @property
    def corners(self) -> list[tuple[float, float]]:
        """The top left corner of every label of a page, in the order in which they are used."""
        page = self.page_mm or (self.width_mm, self.height_mm)
        left = (page[0] - self.columns * self.width_mm - (self.columns - 1) * self.across_mm) / 2
        top = (page[1] - self.rows * self.height_mm) / 2
        return [
            (left + column * (self.width_mm + self.across_mm), top + row * self.height_mm)
            for row in range(self.rows)
            for column in range(self.columns)
        ]


def _a4(width: float, height: float, columns: int, rows: int, across: float = 0.0) -> LabelStock:
    return LabelStock(width, height, columns, rows, across, A4_PORTRAIT_MM)


A4_STOCKS = (
    _a4(70, 37, 3, 8),
    _a4(63.5, 38.1, 3, 7, 2.5),
    _a4(63.5, 33.9, 3, 8, 2.5),
    _a4(99.1, 38.1, 2, 7, 2.5),
    _a4(99.1, 67.7, 2, 4, 2.5),
    _a4(105, 74, 2, 4),
    _a4(52.5, 29.7, 4, 10),
)
"""Label sheets that stationers commonly sell, by no standard. Try one on plain paper first."""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label. code: what the QR holds. lines: under the number, while there is room."""

    number: str
    code: str
    lines: tuple[str, ...] = ()


def stock_named(size: str, single: bool = False) -> LabelStock:
    """The label stock of that size, such as 63.5x38.1 [mm]; single: for a label printer, of any size.

    Raises BadInput for a size that is no size, has no room for a code, or is on no known sheet.
    """
    try:
        wide, high = (float(part) for part in size.lower().replace("×", "x").split("x"))
    except ValueError:
        raise BadInput(
            "The labels have no such size.", [Fault("size", "width x height in mm, as 70x37", repr(size))]
        ) from None
    if single:
        if not (25 <= wide <= 210 and 15 <= high <= 297):
            raise BadInput(
                "The labels have no such size.", [Fault("size", "25 to 210 by 15 to 297 mm", repr(size))]
            )
        return LabelStock(wide, high)
    for stock in A4_STOCKS:
        if (stock.width_mm, stock.height_mm) == (wide, high):
            return stock
    known = ", ".join(stock.name for stock in A4_STOCKS)
    raise BadInput(
        "No A4 label sheet of that size is known.",
        [Fault("size", f"one of {known}, or any size as single labels", repr(size))],
    )


def label_sheets(
    labels: Sequence[Label], stock: LabelStock, skip: int = 0, outlined: bool = False
) -> list[Sheet]:
    """The labels on as many pages as they need.

    skip: how many labels of the first page are used already. outlined: a thin line around each, to cut by.
    Raises BadInput when there is none to print, or `skip` is not a place on a page.
    """
    places = stock.corners
    faults = []
    if not labels:
        faults.append(Fault("labels", "at least one board", "none"))
    if not 0 <= skip < len(places):
        faults.append(Fault("skip", f"0 to {len(places) - 1}", str(skip)))
    if faults:
        raise BadInput("There is nothing to print.", faults)
    page = stock.page_mm or (stock.width_mm, stock.height_mm)
    sheets: list[Sheet] = []
    for place, label in enumerate(labels, skip):
        number, at = divmod(place, len(places))
        if number == len(sheets):
            first = label.number
            sheets.append(Sheet(f"Labels from {first}", f"Board labels, the first {first}", *page))
        sheets[-1].add(_label(label, stock, places[at], outlined))
    return sheets


def _label(label: Label, stock: LabelStock, corner: tuple[float, float], outlined: bool) -> Group:
    left, top = corner
    wide, high = stock.width_mm, stock.height_mm
    marks: list[Mark] = []
    if outlined:
        marks.append(Shape(rectangle(left, top, left + wide, top + high), HAIR))
    upright = high > wide
    side = min(wide, high) - 2 * _PAD_MM if upright else min(high - 2 * _PAD_MM, wide * 0.45)
    code_left = left + (wide - side) / 2 if upright else left + _PAD_MM
    code_top = top + _PAD_MM if upright else top + (high - side) / 2
    marks.append(qr_boxes(label.code, code_left, code_top, side))
    text_left = left + _PAD_MM if upright else code_left + side
    room = left + wide - _PAD_MM - text_left
    text_top = code_top + side if upright else top + _PAD_MM
    marks += _words(label, text_left, text_top, room, top + high - _PAD_MM)
    return Group("label", label.number, tuple(marks), f"Label of {label.number}")


def _words(label: Label, left: float, top: float, room: float, bottom: float) -> list[Mark]:
    """The number as large as it fits, below it as many lines as there is height for, in the middle of it."""
    high = bottom - top
    size = size_to_fit(label.number, room, min(16.0, high * 0.5), 2.4, bold=True)
    small = min(5.0, max(2.2, size * 0.4))
    lines = label.lines[: max(0, int((high - size * 0.95) / (small * 1.35)))]
    base = top + (high - size * 0.95 - len(lines) * small * 1.35) / 2 + size * 0.8
    marks: list[Mark] = [Words(left, base, fitted(label.number, room, size, bold=True), size, bold=True)]
    for line in lines:
        base += small * 1.35
        fits = size_to_fit(line, room, small, 2.0)
        marks.append(Words(left, base, fitted(line, room, fits), fits, colour=SOFT))
    return marks


def qr_boxes(code: str, left_mm: float, top_mm: float, side_mm: float) -> Boxes:
    """A QR code with its quiet zone in a square of that side. [mm of paper]

    Raises BadInput where so much text makes modules too small for a label printer.
    """
    import segno

    # Level Q, a quarter of the code, is for labels that get scuffed; a number fits the smallest code even so.
    found = segno.make(code, error="q", micro=False, boost_error=False)
    matrix = [list(row) for row in found.matrix]
    modules = len(matrix) + 2 * QUIET_MODULES
    module = side_mm / modules
    if module < _LEAST_MODULE_MM:
        raise BadInput(
            "The label is too small for its code.",
            [
                Fault(
                    "size",
                    f"a label whose code is {_LEAST_MODULE_MM * modules:.0f} mm or more",
                    f"{side_mm:.0f} mm",
                )
            ],
        )
    x, y = left_mm + QUIET_MODULES * module, top_mm + QUIET_MODULES * module
    boxes = []
    for row, dark in enumerate(matrix):
        start = None
        for column, on in enumerate([*dark, 0]):
            if on and start is None:
                start = column
            elif not on and start is not None:
                boxes.append(
                    (x + start * module, y + row * module, x + column * module, y + (row + 1) * module)
                )
                start = None
    return Boxes(tuple(boxes))
