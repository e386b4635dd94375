"""A sheet as SVG text.

Built with the standard library's ElementTree: it escapes every text and attribute, the elements needed are a
handful, and a drawing library would add a dependency and take the marks' names away. Nothing in the file is
fetched from elsewhere or runs.
"""

import re
from hashlib import sha256
from xml.etree import ElementTree

from stockyard.drawings.hatches import HATCHES, Hatch
from stockyard.drawings.sheet import PAPER, Boxes, Group, Line, Mark, Pen, Shape, Sheet, Words, arrow_head
from stockyard.timber import Point

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def svg(sheet: Sheet) -> str:
    """The sheet as one SVG document whose user unit is a millimetre of paper."""
    # Several drawings may stand in one web page, so their ids must differ: they are named after the title.
    prefix = "d" + sha256(_lawful(sheet.title).encode()).hexdigest()[:8]
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "width": f"{_number(sheet.width_mm)}mm",
            "height": f"{_number(sheet.height_mm)}mm",
            "viewBox": f"0 0 {_number(sheet.width_mm)} {_number(sheet.height_mm)}",
            "role": "img",
            "aria-labelledby": f"{prefix}-title {prefix}-desc",
            "font-family": "sans-serif",
            "stroke-linejoin": "round",
        },
    )
    _worded(root, "title", sheet.title, {"id": f"{prefix}-title"})
    _worded(root, "desc", sheet.spoken, {"id": f"{prefix}-desc"})
    definitions = ElementTree.SubElement(root, "defs")
    for name in sorted(_hatches_used(sheet.marks)):
        _pattern(definitions, f"{prefix}-{name}", HATCHES[name])
    ElementTree.SubElement(
        root,
        "rect",
        {"width": _number(sheet.width_mm), "height": _number(sheet.height_mm), "fill": PAPER},
    )
    for mark in sheet.marks:
        _draw(root, mark, prefix)
    ElementTree.indent(root)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def _draw(parent: ElementTree.Element, mark: Mark, prefix: str) -> None:
    if isinstance(mark, Group):
        group = ElementTree.SubElement(
            parent, "g", {"class": _lawful(mark.role), "data-name": _lawful(mark.name)}
        )
        if mark.spoken:
            _worded(group, "title", mark.spoken)
        for inner in mark.marks:
            _draw(group, inner, prefix)
    elif isinstance(mark, Words):
        _write(parent, mark)
    elif isinstance(mark, Line):
        ElementTree.SubElement(
            parent, "polyline", {"points": _points(mark.points), "fill": "none", **_pen(mark.pen)}
        )
        if mark.arrow:
            head = arrow_head(mark.points[-2], mark.points[-1], mark.pen)
            ElementTree.SubElement(parent, "polygon", {"points": _points(head), "fill": mark.pen.colour})
    elif isinstance(mark, Boxes):
        outline = "".join(
            f"M{_number(x0)} {_number(y0)}H{_number(x1)}V{_number(y1)}H{_number(x0)}Z"
            for x0, y0, x1, y1 in mark.boxes
        )
        ElementTree.SubElement(parent, "path", {"d": outline, "fill": mark.fill})
    else:
        _close(parent, mark, prefix)


def _close(parent: ElementTree.Element, shape: Shape, prefix: str) -> None:
    pen = _pen(shape.pen) if shape.pen else {}
    points = {"points": _points(shape.points)}
    if shape.fill and shape.hatch:
        ElementTree.SubElement(parent, "polygon", {**points, "fill": shape.fill})
    fill = f"url(#{prefix}-{shape.hatch})" if shape.hatch else shape.fill or "none"
    ElementTree.SubElement(parent, "polygon", {**points, "fill": fill, **pen})


def _write(parent: ElementTree.Element, words: Words) -> None:
    attributes = {
        "x": _number(words.x_mm),
        "y": _number(words.y_mm),
        "font-size": _number(words.size_mm),
        "fill": words.colour,
    }
    if words.anchor != "start":
        attributes["text-anchor"] = words.anchor
    if words.bold:
        attributes["font-weight"] = "bold"
    if words.serif:
        attributes["font-family"] = "serif"
    _worded(parent, "text", words.text, attributes)


def _pattern(parent: ElementTree.Element, name: str, hatch: Hatch) -> None:
    pattern = ElementTree.SubElement(
        parent,
        "pattern",
        {
            "id": name,
            "patternUnits": "userSpaceOnUse",
            "width": _number(hatch.width_mm),
            "height": _number(hatch.height_mm),
            "patternTransform": f"rotate({_number(hatch.turn_deg)})",
        },
    )
    for line in hatch.lines:
        ElementTree.SubElement(
            pattern, "polyline", {"points": _points(line.points), "fill": "none", **_pen(line.pen)}
        )
    for x, y, radius, filled in hatch.dots:
        circle = {"cx": _number(x), "cy": _number(y), "r": _number(radius)}
        ink = {"fill": Pen().colour} if filled else {"fill": "none", **_pen(Pen(0.15))}
        ElementTree.SubElement(pattern, "circle", {**circle, **ink})


def _hatches_used(marks: list[Mark] | tuple[Mark, ...]) -> set[str]:
    used: set[str] = set()
    for mark in marks:
        if isinstance(mark, Group):
            used |= _hatches_used(mark.marks)
        elif isinstance(mark, Shape) and mark.hatch:
            used.add(mark.hatch)
    return used


def _worded(
    parent: ElementTree.Element, tag: str, text: str, attributes: dict[str, str] | None = None
) -> None:
    ElementTree.SubElement(parent, tag, attributes or {}).text = _lawful(text)


def _lawful(text: str) -> str:
    # Control characters and lone surrogates cannot stand in an XML document, escaped or not.
    return _NOT_XML.sub("\ufffd", text)


def _pen(pen: Pen) -> dict[str, str]:
    drawn = {"stroke": pen.colour, "stroke-width": _number(pen.width_mm)}
    if pen.dash_mm:
        drawn["stroke-dasharray"] = " ".join(_number(dash) for dash in pen.dash_mm)
    return drawn


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _number(value: float) -> str:
    return f"{round(value, 3):.12g}"
