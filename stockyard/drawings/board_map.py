"""A board's map: both faces at true proportion with every known defect, keyed to a list."""

from functools import partial

from stockyard.drawings.callouts import TIER_MM
from stockyard.drawings.face import (
    GUTTER_MM,
    RULER_MM,
    body,
    defect_mark,
    keys_over,
    on_face,
    ruler,
    side_names,
    tiers_over,
)
from stockyard.drawings.flow import Flow
from stockyard.drawings.kinds import (
    HATCH_OF,
    LETTERS,
    face_words,
    keyed,
    kind_words,
    range_words,
    shown,
    size_words,
    span,
    spoken,
)
from stockyard.drawings.lettering import width_mm
from stockyard.drawings.page import Column, Table, head, roomiest
from stockyard.drawings.scales import SCALES, View, scale_for, scale_words
from stockyard.drawings.sheet import FINE, SOFT, Group, Mark, Shape, Sheet, Words, rectangle
from stockyard.drawings.svg import svg
from stockyard.timber import Board, Defect, DefectKind, Face

_TALLEST_FACE_MM = 42.0
_TALLEST_BESIDE_MM = 75.0
_BETWEEN_MM = 8.0
_HEADING_MM = 8.5


def board_map(board: Board) -> str:
    """Both faces of a board as an A4 landscape SVG, face B as if seen through the board.

    The two faces share one frame: x from end 1 at the left, y from edge 1 at the foot, so a through crack
    stands at the same place on both. A long list of defects lengthens the sheet.
    """
    return svg(board_sheets(board, paged=False)[0])


def board_sheets(board: Board, paged: bool = True) -> list[Sheet]:
    """The sheets behind `board_map`. paged: a long list of defects goes on over A4 pages."""
    found = keyed(board.defects)

    def page(what: str) -> tuple[Sheet, float]:
        sheet = Sheet(f"Board {board.id}: map of both faces", _spoken(board, found))
        return sheet, head(sheet, board.id, what, _head_lines(board)) + 3

    flow = Flow(*page("board map"), next_page=partial(page, "board map, continued") if paged else None)
    table = defect_table(found)
    room = flow.width_mm
    legend = _legend_height(board.defects) if found else 8.0
    listed = table.height_mm(room)
    for_list = min(listed, max(40.0, 0.3 * flow.room_mm)) if paged else listed
    scale, beside = _arrangement(board, found, room, flow.room_mm - for_list - legend - 4)
    heights = [_face_height(board, found, face, scale) for face in (Face.A, Face.B)]
    if beside:
        top = flow.claim(max(heights))
        half = flow.sheet.left_mm + (room + _BETWEEN_MM) / 2
        _draw_face(flow.sheet, board, found, Face.A, scale, (flow.sheet.left_mm, top))
        _draw_face(flow.sheet, board, found, Face.B, scale, (half, top))
    else:
        for face, high in zip((Face.A, Face.B), heights, strict=True):
            top = flow.claim(high + 2)
            _draw_face(flow.sheet, board, found, face, scale, (flow.sheet.left_mm, top))
    top = flow.claim(legend + 2, with_mm=2 * table.leading_mm if found else 0) + 2
    if found:
        flow.sheet.add(*_legend(board.defects, flow.sheet.left_mm, top, room))
        flow.set_table(roomiest([table], room, flow.room_mm)[0])
    else:
        flow.sheet.add(Words(flow.sheet.left_mm, top + 4, "No defects are mapped on this board.", 4.0))
    return flow.finish(
        "Both faces lie in one frame: face B as if seen through the board. Lengths in mm.",
        f"Faces {scale_words(scale)} on A4",
    )


def defect_table(found: list[tuple[str, Defect]]) -> Table:
    """The list of a board's defects with their places and sizes."""
    columns = (
        Column("key", 11, bold=True),
        Column("kind", 25),
        Column("face", 14),
        Column("from end 1", 23),
        Column("from edge 1", 18),
        Column("size", 22),
        Column("deep", 9),
        Column("open", 9),
    )
    rows = []
    for key, defect in found:
        x0, y0, x1, y1 = span(defect)
        rows.append(
            (
                key,
                kind_words(defect.kind),
                face_words(defect.face),
                range_words(x0, x1),
                range_words(y0, y1),
                size_words(defect),
                "–" if defect.depth_mm is None or defect.through else shown(defect.depth_mm),
                "–" if defect.opening_mm is None else shown(defect.opening_mm),
            )
        )
    return Table(columns, rows, gap_mm=7)


def _face_height(board: Board, found: list[tuple[str, Defect]], face: Face, scale: float) -> float:
    tiers = tiers_over(on_face(found, face), board.length_mm / scale)
    return _HEADING_MM + tiers * TIER_MM + board.width_mm / scale + RULER_MM


def _draw_face(
    sheet: Sheet,
    board: Board,
    found: list[tuple[str, Defect]],
    face: Face,
    scale: float,
    corner: tuple[float, float],
) -> None:
    """Draw one face, its heading at `corner`. [mm of paper]"""
    left, top = corner
    here = on_face(found, face)
    tiers = tiers_over(here, board.length_mm / scale)
    face_top = top + _HEADING_MM + tiers * TIER_MM
    view = View(left + GUTTER_MM, face_top + board.width_mm / scale, scale)
    note = ""
    if board.heart_face is face:
        note = "heart side, towards the pith"
    elif board.heart_face is not None:
        note = "bark side, away from the pith"
    marks: list[Mark] = [Words(left, top + 4, f"Face {face.value}", 4.2, bold=True, serif=True)]
    if note:
        marks.append(Words(left + 19, top + 4, note, 2.8, colour=SOFT))
    marks.append(body(board, view))
    marks += [defect_mark(key, defect, view) for key, defect in sorted(here, key=_largest_first)]
    marks += keys_over(here, view, board)
    marks += side_names(board, view)
    marks += ruler(board, view)
    sheet.add(Group("face", face.value, tuple(marks), f"Face {face.value}, {note or 'heart side not known'}"))


def _arrangement(
    board: Board, found: list[tuple[str, Defect]], room: float, high: float
) -> tuple[float, bool]:
    """The scale of the faces, and whether they stand side by side. [mm of paper]"""
    over = scale_for(board.length_mm, board.width_mm, room - 2 * GUTTER_MM, _TALLEST_FACE_MM)
    half = (room - _BETWEEN_MM) / 2 - 2 * GUTTER_MM
    beside = scale_for(board.length_mm, board.width_mm, half, _TALLEST_BESIDE_MM)
    if beside <= over:
        return beside, True
    for smaller in [over, *(scale for scale in SCALES if scale > over)]:
        wide = board.length_mm / smaller
        if wide < room / 2:  # smaller than that is hard to read; a longer sheet is better
            break
        tiers = sum(tiers_over(on_face(found, face), wide) for face in (Face.A, Face.B))
        if 2 * (_HEADING_MM + board.width_mm / smaller + RULER_MM) + tiers * TIER_MM <= high:
            return smaller, False
    return over, False


def _largest_first(item: tuple[str, Defect]) -> float:
    x0, y0, x1, y1 = span(item[1])
    return (x0 - x1) * (y1 - y0)


def _legend_height(defects: tuple[Defect, ...]) -> float:
    return 7.0 * max(1, -(-len({defect.kind for defect in defects}) // 8))


def _legend(defects: tuple[Defect, ...], left: float, top: float, room: float) -> list[Mark]:
    """A swatch for each kind there is on this board."""
    kinds = [kind for kind in DefectKind if kind in {defect.kind for defect in defects}]
    marks: list[Mark] = []
    for number, kind in enumerate(kinds):
        x = left + (number % 8) * room / 8
        y = top + (number // 8) * 7
        marks.append(Shape(rectangle(x, y + 0.6, x + 6, y + 4), FINE, "#ffffff", HATCH_OF[kind]))
        letter = LETTERS[kind]
        marks.append(Words(x + 7.2, y + 3.4, letter, 2.8, bold=True))
        marks.append(Words(x + 8 + width_mm(letter, 2.8, bold=True), y + 3.4, kind_words(kind), 2.6))
    return [Group("legend", "kinds", tuple(marks), "Hatching of each kind")]


def _head_lines(board: Board) -> list[str]:
    size = f"{shown(board.length_mm)} × {shown(board.width_mm)} × {shown(board.thickness_mm)} mm"
    first = f"{board.species} · {size}"
    moisture = (
        "moisture not read" if board.moisture_pct is None else f"moisture {shown(board.moisture_pct)} %"
    )
    bent = board.distortion
    measured = [
        f"{name} {shown(figure)}"
        for name, figure in (
            ("bow", bent.bow_mm),
            ("spring", bent.spring_mm),
            ("cup", bent.cup_mm),
            ("twist", bent.twist_mm),
        )
        if figure
    ]
    second = " · ".join([moisture, ", ".join(measured) or "no distortion measured"])
    return [first, second]


def _spoken(board: Board, found: list[tuple[str, Defect]]) -> str:
    heart = f"The heart is towards face {board.heart_face.value}. " if board.heart_face else ""
    listed = "; ".join(f"{key}, {spoken(defect)}" for key, defect in found) or "none mapped"
    return (
        f"{board.species}, {shown(board.length_mm)} by {shown(board.width_mm)} by"
        f" {shown(board.thickness_mm)} mm. {heart}Defects: {listed}."
    )
