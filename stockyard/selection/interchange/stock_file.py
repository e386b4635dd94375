"""The stock document: the boards a selection may choose from.

Stocks may hold 50,000 boards and half a million defects, so a defect is first read as the plain thing it
nearly always is; only where that fails is it gone through again to say what is wrong.
"""

from decimal import Decimal
from typing import Any

from stockyard.geometry.outline import faulty_shapes, outline_faults
from stockyard.measures.colour import Lab
from stockyard.selection.interchange.fields import MOST_MM, NUMBERS, Fields, given
from stockyard.selection.interchange.text import Source, load, many_values
from stockyard.timber import Board, Defect, DefectKind, Distortion, Face, Outline, Stock

FORMAT = "stockyard.stock/1"
NAME = "The stock file"

_BOARD_REQUIRED = ("id", "species", "length", "width", "thickness", "value", "defects")
_BOARD_OPTIONAL = ("moisture", "distortion", "heart_face", "colour")
_BENDS = ("bow", "spring", "cup", "twist")
_DEFECT_REQUIRED = ("kind", "face", "outline")
_DEFECT_OPTIONAL = ("id", "depth", "opening")
_DEFECT_KEYS = frozenset(_DEFECT_REQUIRED + _DEFECT_OPTIONAL)
_KINDS = {str(kind): kind for kind in DefectKind}
_FACES = {str(face): face for face in Face}
_STRAIGHT = Distortion()
_MOST_MOISTURE_PCT = 300  # the wettest green timber on record is near 250 %

ShapesToJudge = list[tuple[str, Outline, float, float]]


def read_stock(source: Source) -> Stock:
    """The stock a document of format stockyard.stock/1 describes.

    source: JSON text (str, or bytes in UTF-8), or the document already parsed.
    Raises BadInput with every fault and its place, such as "boards[3].defects[0].outline".
    """
    with many_values():
        fields = Fields()
        raw = fields.table(load(source, NAME), "", ("format", "currency", "boards"))
        if given(raw, "format") and raw["format"] != FORMAT:
            fields.wrong("format", FORMAT, raw["format"])
        currency = fields.text(raw.get("currency"), "currency")
        if currency and not (len(currency) == 3 and currency.isascii() and currency.isupper()):
            fields.wrong("currency", "a currency code of three capitals, such as AUD", currency)
        shapes: ShapesToJudge = []
        boards = tuple(
            _board(board, f"boards[{n}]", fields, shapes)
            for n, board in enumerate(fields.items(raw.get("boards"), "boards"))
        )
        fields.once([board.id for board in boards], lambda n: f"boards[{n}].id")
        for index in faulty_shapes([outline for _, outline, _, _ in shapes]):
            where, outline, length_mm, width_mm = shapes[index]
            fields.faults.extend(outline_faults(outline, length_mm, width_mm, where))
        fields.finish(NAME)
        return Stock(boards, currency)


def stock_document(stock: Stock) -> dict[str, Any]:
    """The document of a stock, ready for JSON. Which boards are reserved is not part of it."""
    return {
        "format": FORMAT,
        "currency": stock.currency,
        "boards": [_board_document(board) for board in stock.boards],
    }


def _board(raw: Any, where: str, fields: Fields, shapes: ShapesToJudge) -> Board:
    raw = fields.table(raw, where, _BOARD_REQUIRED, _BOARD_OPTIONAL)
    board_id = fields.text(raw.get("id"), f"{where}.id")
    faults_before = len(fields.faults)
    length_mm = fields.length(raw.get("length"), f"{where}.length", above=True)
    width_mm = fields.length(raw.get("width"), f"{where}.width", high=10_000, above=True)
    size_known = len(fields.faults) == faults_before and given(raw, "length") and given(raw, "width")
    if size_known and min(length_mm, width_mm) < 1:
        fields.wrong(where, "a board of 1 mm at least each way", f"{length_mm:g} x {width_mm:g}")
        size_known = False
    # Where the size itself is at fault there is nothing to hold the outlines against.
    within = (length_mm, width_mm) if size_known else (MOST_MM, MOST_MM)
    heart = raw.get("heart_face")
    colour = raw.get("colour")
    colours = {} if colour is None else fields.table(colour, f"{where}.colour", (), ("A", "B"))
    moisture = raw.get("moisture")
    return Board(
        id=board_id,
        species=fields.text(raw.get("species"), f"{where}.species"),
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=fields.length(raw.get("thickness"), f"{where}.thickness", high=2_000, above=True),
        value=fields.money(raw.get("value"), f"{where}.value"),
        moisture_pct=None
        if moisture is None
        else fields.number(moisture, f"{where}.moisture", 0, _MOST_MOISTURE_PCT, unit=" %"),
        distortion=_distortion(raw.get("distortion"), f"{where}.distortion", fields),
        heart_face=None
        if heart is None
        else fields.choice(heart, f"{where}.heart_face", Face, (Face.A, Face.B)),
        colour_a=_lab(colours.get("A"), f"{where}.colour.A", fields),
        colour_b=_lab(colours.get("B"), f"{where}.colour.B", fields),
        defects=_defects(raw.get("defects"), where, board_id, within, fields, shapes),
    )


def _distortion(raw: Any, where: str, fields: Fields) -> Distortion:
    if raw is None:
        return _STRAIGHT
    raw = fields.table(raw, where, (), _BENDS)
    bow, spring, cup, twist = (
        fields.length(raw[name], f"{where}.{name}", high=10_000) if given(raw, name) else 0.0
        for name in _BENDS
    )
    return Distortion(bow, spring, cup, twist)


def _lab(raw: Any, where: str, fields: Fields) -> Lab | None:
    if raw is None:
        return None
    parts = fields.items(raw, where)
    if len(parts) != 3:
        fields.wrong(where, "three numbers, L*, a* and b*", raw)
        return None
    limits = ((0, 100), (-200, 200), (-200, 200))
    for number, part in enumerate(parts):
        if part is None:
            fields.wrong(f"{where}[{number}]", "a number", part)
    lightness, a, b = (
        float(fields.number(part, f"{where}[{number}]", *limits[number])) for number, part in enumerate(parts)
    )
    return lightness, a, b


def _defects(
    raw: Any, where: str, board_id: str, within: tuple[float, float], fields: Fields, shapes: ShapesToJudge
) -> tuple[Defect, ...]:
    if not raw:
        fields.items(raw, f"{where}.defects")
        return ()
    found = [
        _plain_defect(item, place := f"{where}.defects[{n}]", within, shapes)
        or _defect(item, place, within, fields, shapes)
        for n, item in enumerate(fields.items(raw, f"{where}.defects"))
    ]
    if all(defect.id for defect in found):
        if len({defect.id for defect in found}) != len(found):
            fields.once([defect.id for defect in found], lambda n: f"{where}.defects[{n}].id")
        return tuple(found)
    return _with_ids(found, where, board_id, fields)


def _with_ids(found: list[Defect], where: str, board_id: str, fields: Fields) -> tuple[Defect, ...]:
    """The defects, "<board>/<n>" for those without an id: n counts from 1, past numbers already taken."""
    fields.once([defect.id for defect in found], lambda n: f"{where}.defects[{n}].id")
    taken = {defect.id for defect in found}
    named = []
    for number, defect in enumerate(found, start=1):
        name = defect.id
        while not name or (not defect.id and name in taken):
            name, number = f"{board_id}/{number}", number + 1
        taken.add(name)
        named.append(
            Defect(name, defect.kind, defect.face, defect.outline, defect.depth_mm, defect.opening_mm)
        )
    return tuple(named)


def _plain_defect(raw: Any, where: str, within: tuple[float, float], shapes: ShapesToJudge) -> Defect | None:
    """The defect if every part of it is as it should be; None otherwise, to be gone through again."""
    if type(raw) is not dict or not raw.keys() <= _DEFECT_KEYS:
        return None
    length_mm, width_mm = within
    outline = []
    try:
        kind, face = _KINDS[raw["kind"]], _FACES[raw["face"]]
        for x, y in raw["outline"]:
            if type(x) is not int:
                if type(x) not in NUMBERS:
                    return None
                x = float(x)
            if type(y) is not int:
                if type(y) not in NUMBERS:
                    return None
                y = float(y)
            if not (0 <= x <= length_mm and 0 <= y <= width_mm):
                return None
            outline.append((x, y))
    except (KeyError, TypeError, ValueError, OverflowError):
        return None
    defect_id, depth, opening = raw.get("id"), raw.get("depth"), raw.get("opening")
    if len(outline) < 3 or not (defect_id is None or (type(defect_id) is str and defect_id.strip())):
        return None
    for size in (depth, opening):
        if size is not None and not (type(size) in NUMBERS and 0 <= float(size) <= MOST_MM):
            return None
    shape = _open(outline)
    shapes.append((f"{where}.outline", shape, length_mm, width_mm))
    return Defect(
        defect_id or "",
        kind,
        face,
        shape,
        depth if depth is None or type(depth) is int else float(depth),
        opening if opening is None or type(opening) is int else float(opening),
    )


def _defect(
    raw: Any, where: str, within: tuple[float, float], fields: Fields, shapes: ShapesToJudge
) -> Defect:
    """The defect, with every fault noted."""
    raw = fields.table(raw, where, _DEFECT_REQUIRED, _DEFECT_OPTIONAL)
    depth, opening = raw.get("depth"), raw.get("opening")
    return Defect(
        id=fields.text(raw.get("id"), f"{where}.id"),
        kind=fields.choice(raw.get("kind"), f"{where}.kind", DefectKind),
        face=fields.choice(raw.get("face"), f"{where}.face", Face),
        outline=_outline(raw.get("outline"), f"{where}.outline", within, fields, shapes),
        depth_mm=None if depth is None else fields.length(depth, f"{where}.depth"),
        opening_mm=None if opening is None else fields.length(opening, f"{where}.opening"),
    )


def _outline(
    raw: Any, where: str, within: tuple[float, float], fields: Fields, shapes: ShapesToJudge
) -> Outline:
    faults_before = len(fields.faults)
    points = []
    for number, pair in enumerate(fields.items(raw, where)):
        place = f"{where}[{number}]"
        if not isinstance(pair, list | tuple) or len(pair) != 2 or None in pair:
            fields.wrong(place, "a point [x, y]", pair)
            continue
        x, y = (
            fields.number(part, f"{place}[{axis}]", -MOST_MM, MOST_MM, unit=" mm")
            for axis, part in enumerate(pair)
        )
        points.append((x, y))
    outline = _open(points)
    if raw is None or len(fields.faults) > faults_before:
        return outline
    if len(outline) >= 3 and all(0 <= x <= within[0] and 0 <= y <= within[1] for x, y in outline):
        shapes.append((where, outline, *within))
    else:
        fields.faults.extend(outline_faults(outline, *within, where))
    return outline


def _open(points: list[tuple[float, float]]) -> Outline:
    """The outline without the first point said again at the end, as some drawing programs do."""
    return tuple(points[:-1] if len(points) > 3 and points[0] == points[-1] else points)


def _board_document(board: Board) -> dict[str, Any]:
    bend = board.distortion
    return {
        "id": board.id,
        "species": board.species,
        "length": board.length_mm,
        "width": board.width_mm,
        "thickness": board.thickness_mm,
        "value": _amount(board.value),
        "moisture": board.moisture_pct,
        "distortion": {
            "bow": bend.bow_mm,
            "spring": bend.spring_mm,
            "cup": bend.cup_mm,
            "twist": bend.twist_mm,
        },
        "heart_face": board.heart_face and str(board.heart_face),
        "colour": {
            "A": board.colour_a and list(board.colour_a),
            "B": board.colour_b and list(board.colour_b),
        },
        "defects": [
            {
                "id": defect.id,
                "kind": str(defect.kind),
                "face": str(defect.face),
                "depth": defect.depth_mm,
                "opening": defect.opening_mm,
                "outline": [list(point) for point in defect.outline],
            }
            for defect in board.defects
        ],
    }


def _amount(value: Decimal) -> float | int:
    return int(value) if value == value.to_integral_value() else float(value)
