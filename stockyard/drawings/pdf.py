"""Sheets as the pages of a PDF, at true size, from the same marks the SVG is written from."""

import io
from collections.abc import Sequence
from math import ceil, cos, floor, radians, sin
from typing import Any

from stockyard.drawings.fonts import font_name
from stockyard.drawings.hatches import HATCHES, Hatch
from stockyard.drawings.sheet import (
    INK,
    PAPER,
    Boxes,
    Group,
    Line,
    Mark,
    Pen,
    Shape,
    Sheet,
    Words,
    arrow_head,
)
from stockyard.errors import MissingPart
from stockyard.timber import Point

POINTS_PER_MM = 72 / 25.4
_NONZERO = 1  # how SVG fills a shape, and reportlab does not unless told


def pdf(sheets: Sequence[Sheet], title: str = "") -> bytes:
    """The sheets as one PDF, a page each of the sheet's own size, its fonts embedded.

    title: of the document; the first sheet's when empty. The same sheets give the same bytes.
    Raises MissingPart without the reportlab library.
    """
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError as trouble:
        raise MissingPart("PDF is written with reportlab: pip install reportlab.") from trouble
    made = io.BytesIO()
    canvas = Canvas(made, invariant=1, pageCompression=1)
    canvas.setTitle(title or (sheets[0].title if sheets else ""))
    canvas.setSubject(sheets[0].spoken if sheets else "")
    for number, sheet in enumerate(sheets):
        canvas.setPageSize((sheet.width_mm * POINTS_PER_MM, sheet.height_mm * POINTS_PER_MM))
        canvas.bookmarkPage(f"page-{number}")
        canvas.addOutlineEntry(sheet.title, f"page-{number}")
        canvas.saveState()
        # Millimetres from the top left corner, y down, as on the sheet.
        canvas.transform(POINTS_PER_MM, 0, 0, -POINTS_PER_MM, 0, sheet.height_mm * POINTS_PER_MM)
        canvas.setLineJoin(1)
        for mark in sheet.marks:
            _draw(canvas, mark)
        canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return made.getvalue()


def _draw(canvas: Any, mark: Mark) -> None:
    if isinstance(mark, Group):
        for inner in mark.marks:
            _draw(canvas, inner)
    elif isinstance(mark, Words):
        _write(canvas, mark)
    elif isinstance(mark, Line):
        _take(canvas, mark.pen)
        canvas.drawPath(_path(canvas, mark.points, closed=False), stroke=1, fill=0)
        if mark.arrow:
            canvas.setFillColor(_colour(mark.pen.colour))
            head = arrow_head(mark.points[-2], mark.points[-1], mark.pen)
            canvas.drawPath(_path(canvas, head), stroke=0, fill=1)
    elif isinstance(mark, Boxes):
        canvas.setFillColor(_colour(mark.fill))
        path = canvas.beginPath()
        for x0, y0, x1, y1 in mark.boxes:
            path.rect(x0, y0, x1 - x0, y1 - y0)
        canvas.drawPath(path, stroke=0, fill=1, fillMode=_NONZERO)
    else:
        _close(canvas, mark)


def _close(canvas: Any, shape: Shape) -> None:
    if shape.fill:
        canvas.setFillColor(_colour(shape.fill))
        canvas.drawPath(_path(canvas, shape.points), stroke=0, fill=1, fillMode=_NONZERO)
    if shape.hatch:
        _hatch(canvas, shape, HATCHES[shape.hatch])
    if shape.pen:
        _take(canvas, shape.pen)
        canvas.drawPath(_path(canvas, shape.points), stroke=1, fill=0)


def _write(canvas: Any, words: Words) -> None:
    canvas.saveState()
    canvas.transform(1, 0, 0, -1, words.x_mm, words.y_mm)
    canvas.setFillColor(_colour(words.colour))
    canvas.setFont(font_name(words.bold, words.serif), words.size_mm)
    text = "".join(letter if letter.isprintable() else " " for letter in words.text)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    draw[words.anchor](0, 0, text)
    canvas.restoreState()


def _hatch(canvas: Any, shape: Shape, hatch: Hatch) -> None:
    """Lay a hatch's tiles over a shape, as a turned pattern from the sheet's own corner."""
    turn = radians(hatch.turn_deg)
    along, across = zip(
        *((x * cos(turn) + y * sin(turn), y * cos(turn) - x * sin(turn)) for x, y in shape.points),
        strict=True,
    )
    columns = range(floor(min(along) / hatch.width_mm), ceil(max(along) / hatch.width_mm))
    rows = range(floor(min(across) / hatch.height_mm), ceil(max(across) / hatch.height_mm))
    canvas.saveState()
    canvas.clipPath(_path(canvas, shape.points), stroke=0, fill=0, fillMode=_NONZERO)
    canvas.rotate(hatch.turn_deg)
    for line in hatch.lines:
        _take(canvas, line.pen)
        path = canvas.beginPath()
        for start, end in _tiled(line, hatch, columns, rows):
            path.moveTo(*start)
            path.lineTo(*end)
        canvas.drawPath(path, stroke=1, fill=0)
    for x, y, radius, filled in hatch.dots:
        _take(canvas, Pen(0.15))
        canvas.setFillColor(_colour(INK))
        path = canvas.beginPath()
        for column in columns:
            for row in rows:
                path.circle(column * hatch.width_mm + x, row * hatch.height_mm + y, radius)
        canvas.drawPath(path, stroke=int(not filled), fill=int(filled))
    canvas.restoreState()


def _tiled(line: Line, hatch: Hatch, columns: range, rows: range) -> list[tuple[Point, Point]]:
    """A tile's line in every tile; as one long line where it runs from tile to tile."""
    (x0, y0), (x1, y1) = line.points
    wide, high = hatch.width_mm, hatch.height_mm
    if y0 == y1 and x1 - x0 >= wide:
        left, right = columns.start * wide, columns.stop * wide
        return [((left, row * high + y0), (right, row * high + y0)) for row in rows]
    if x0 == x1 and y1 - y0 >= high:
        top, bottom = rows.start * high, rows.stop * high
        return [((column * wide + x0, top), (column * wide + x0, bottom)) for column in columns]
    return [
        ((column * wide + x0, row * high + y0), (column * wide + x1, row * high + y1))
        for column in columns
        for row in rows
    ]


def _path(canvas: Any, points: Sequence[Point], closed: bool = True) -> Any:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    return path


def _take(canvas: Any, pen: Pen) -> None:
    canvas.setStrokeColor(_colour(pen.colour))
    canvas.setLineWidth(pen.width_mm)
    canvas.setDash(*((list(pen.dash_mm), 0) if pen.dash_mm else ()))


def _colour(text: str) -> Any:
    from reportlab.lib.colors import HexColor

    return HexColor(text or PAPER)
