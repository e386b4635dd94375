"""A written sheet: headings, paragraphs and lists on A4 pages, for the bench, the file and the client."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from stockyard.drawings.flow import Flow
from stockyard.drawings.lettering import fitted, size_to_fit, width_mm, wrapped
from stockyard.drawings.sheet import (
    A4_PORTRAIT_MM,
    FINE,
    HAIR,
    HEAVY,
    INK,
    MARGIN_MM,
    PAPER,
    SOFT,
    Line,
    Mark,
    Shape,
    Sheet,
    Words,
    rectangle,
)

TEXT_MM = 3.2
_LEADING_MM = 4.4
_CELL_MM = 3.0
_CELL_LEADING_MM = 4.1
_HEADINGS_MM = _CELL_LEADING_MM + 0.8
_TICK_MM = 3.0
_GAP_MM = 2.0  # between a list's columns


@dataclass(frozen=True, slots=True)
class Heading:
    """The name of what follows; it never stands last on a page."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Some sentences. indent_mm: set in from the left by so much. [mm of paper]"""

    text: str
    bold: bool = False
    indent_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Field:
    """A column of a list. share: of the width left over by the others; right: figures, set to the right."""

    heading: str
    share: float
    right: bool = False
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """Rows whose cells break into lines. tick: an empty box before each, to tick by hand. last: a sum."""

    fields: tuple[Field, ...]
    rows: Sequence[Sequence[str]]
    tick: bool = False
    last: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Signing:
    """Lines to write on by hand, each under its words."""

    lines: tuple[str, ...]


Block = Heading | Paragraph | Listing | Signing


def written_sheets(
    name: str,
    what: str,
    blocks: Sequence[Block],
    *,
    under: Sequence[str] = (),
    foot: tuple[str, str] = ("", ""),
) -> list[Sheet]:
    """The pages of a written sheet, A4 upright.

    name: written large. what: what the sheet is. under: lines under the head of the first page. foot: what
    stands at the left and at the right of every page's foot.
    """

    def page(first: bool) -> tuple[Sheet, float]:
        sheet = Sheet(f"{name}: {what}", f"{what} of {name}", *A4_PORTRAIT_MM)
        return sheet, _head(sheet, name, what if first else f"{what}, continued", first)

    flow = Flow(*page(True), next_page=partial(page, False))
    for line in under:
        _paragraph(flow, Paragraph(line))
    for number, block in enumerate(blocks):
        after = _least_mm(blocks[number + 1]) if number + 1 < len(blocks) else 0.0
        match block:
            case Heading():
                _heading(flow, block, after)
            case Paragraph():
                _paragraph(flow, block)
            case Listing():
                _listing(flow, block)
            case Signing():
                _signing(flow, block)
    return flow.finish(*foot, ruler=False)


def _head(sheet: Sheet, name: str, what: str, first: bool) -> float:
    most = 9.0 if first else 6.0
    beside = width_mm(what, 4.4, serif=True)
    room = sheet.right_mm - sheet.left_mm - beside - 6
    size = size_to_fit(name, room, most, 4.0, bold=True, serif=True)
    base = MARGIN_MM + most * 0.74
    sheet.add(
        Words(
            sheet.left_mm, base, fitted(name, room, size, bold=True, serif=True), size, bold=True, serif=True
        ),
        Words(sheet.right_mm, base, what, 4.4, "end", serif=True, colour=SOFT),
        Line(((sheet.left_mm, base + 2.8), (sheet.right_mm, base + 2.8)), HEAVY),
    )
    return base + 6.0


def _heading(flow: Flow, heading: Heading, after_mm: float) -> None:
    top = flow.claim(9.0, with_mm=after_mm)
    flow.sheet.add(Words(flow.sheet.left_mm, top + 7.0, heading.text, 4.6, bold=True, serif=True))


def _paragraph(flow: Flow, paragraph: Paragraph) -> None:
    room = flow.width_mm - paragraph.indent_mm
    for line in wrapped(paragraph.text, room, TEXT_MM, paragraph.bold):
        top = flow.claim(_LEADING_MM)
        left = flow.sheet.left_mm + paragraph.indent_mm
        flow.sheet.add(Words(left, top + 3.4, line, TEXT_MM, bold=paragraph.bold))
    flow.top_mm += 0.8


def _listing(flow: Flow, listing: Listing) -> None:
    if not listing.rows:
        return
    rows = [_cells(listing, row, flow.width_mm) for row in listing.rows]
    last = _cells(listing, listing.last, flow.width_mm) if listing.last else []
    headed = False
    for number, row in enumerate(rows):
        high = _row_mm(row)
        ends = number + 1 == len(rows)
        needed = high + (0 if headed else _HEADINGS_MM) + (_row_mm(last) + 1 if last and ends else 0)
        if needed > flow.room_mm:
            flow.turn_page()
            headed = False
        if not headed:
            _write_headings(flow, listing)
            headed = True
        top = flow.claim(high)
        if listing.tick:
            left = flow.sheet.left_mm
            box = rectangle(left, top + 0.5, left + _TICK_MM, top + 0.5 + _TICK_MM)
            flow.sheet.add(Shape(box, FINE, PAPER))
        flow.sheet.add(*_row_marks(flow, listing, row, top))
        rule = top + high - 0.4
        flow.sheet.add(Line(((flow.sheet.left_mm, rule), (flow.sheet.right_mm, rule)), HAIR))
    if last:
        top = flow.claim(_row_mm(last) + 1) + 0.6
        flow.sheet.add(*_row_marks(flow, listing, last, top, bold=True))
    flow.top_mm += 1.5


def _write_headings(flow: Flow, listing: Listing) -> None:
    top = flow.claim(_HEADINGS_MM)
    for field, x, room in _places(listing, flow.sheet.left_mm, flow.width_mm):
        size = size_to_fit(field.heading, room, 2.6, 2.0)
        flow.sheet.add(_word(field, x, room, top + 3.0, field.heading, size, colour=SOFT))
    flow.sheet.add(Line(((flow.sheet.left_mm, top + 4.1), (flow.sheet.right_mm, top + 4.1)), FINE))


def _row_marks(
    flow: Flow, listing: Listing, row: list[list[str]], top: float, bold: bool = False
) -> list[Mark]:
    return [
        _word(
            field,
            x,
            room,
            top + 3.1 + line * _CELL_LEADING_MM,
            text,
            size_to_fit(text, room, _CELL_MM, 2.0, field.bold or bold),
            field.bold or bold,
        )
        for (field, x, room), lines in zip(
            _places(listing, flow.sheet.left_mm, flow.width_mm), row, strict=True
        )
        for line, text in enumerate(lines)
    ]


def _word(
    field: Field,
    x: float,
    room: float,
    base: float,
    text: str,
    size: float,
    bold: bool = False,
    colour: str = INK,
) -> Words:
    if field.right:
        return Words(x + room, base, text, size, "end", bold=bold, colour=colour)
    return Words(x, base, text, size, bold=bold, colour=colour)


def _places(listing: Listing, left: float, width: float) -> list[tuple[Field, float, float]]:
    """Each column with where it begins and how wide it is. [mm of paper]"""
    start = left + (_TICK_MM + 2.5 if listing.tick else 0.0)
    room = left + width - start - _GAP_MM * (len(listing.fields) - 1)
    whole = sum(field.share for field in listing.fields)
    placed = []
    for field in listing.fields:
        wide = room * field.share / whole
        placed.append((field, start, wide))
        start += wide + _GAP_MM
    return placed


def _cells(listing: Listing, row: Sequence[str], width: float) -> list[list[str]]:
    return [
        # Figures shrink to fit rather than break: a broken number is misread.
        [cell] if field.right else wrapped(cell, room, _CELL_MM, field.bold)
        for (field, _, room), cell in zip(_places(listing, 0.0, width), row, strict=True)
    ]


def _row_mm(row: list[list[str]]) -> float:
    return max(1, *(len(lines) for lines in row)) * _CELL_LEADING_MM + 1.2


def _least_mm(block: Block) -> float:
    """What of a block must stand under its heading."""
    match block:
        case Listing():
            return 16.0
        case Signing():
            return 14.0
        case _:
            return 2 * _LEADING_MM


def _signing(flow: Flow, signing: Signing) -> None:
    top = flow.claim(14.0)
    wide = (flow.width_mm - 6.0 * (len(signing.lines) - 1)) / len(signing.lines)
    for number, words in enumerate(signing.lines):
        left = flow.sheet.left_mm + number * (wide + 6.0)
        flow.sheet.add(
            Line(((left, top + 9.0), (left + wide, top + 9.0)), FINE),
            Words(left, top + 12.4, words, 2.6, colour=SOFT),
        )
