"""A panel's layout: its staves as glued, seen from the show face and from the back."""

from collections.abc import Mapping, Sequence
from functools import partial
from textwrap import wrap

from stockyard.drawings.callouts import TIER_MM
from stockyard.drawings.flow import Flow
from stockyard.drawings.joint_marks import LineJoints, joint_table
from stockyard.drawings.kinds import kind_words, range_words, shown, size_words
from stockyard.drawings.laid import LaidDefect, LaidStave, laid_staves
from stockyard.drawings.lettering import fitted
from stockyard.drawings.page import Column, Table, foot, head, roomiest
from stockyard.drawings.panel_face import (
    BACK,
    SHOW,
    PanelFace,
    length_line,
    panel_face_marks,
    tiers_over_panel,
)
from stockyard.drawings.panel_sides import (
    LEFT_ROOM_MM,
    RIGHT_ROOM_MM,
    glue_line_places,
    least_height_mm,
    stave_names,
)
from stockyard.drawings.scales import SCALES, View, scale_words
from stockyard.drawings.sheet import Group, Mark, Sheet, Words
from stockyard.drawings.svg import svg
from stockyard.errors import NotFound
from stockyard.timber import Board, Panel, Plan

_HEADING_MM = 8.0
_BELOW_MM = 7.0
_LEAST_BESIDE_MM = 60.0


def panel_layout(
    plan: Plan, panel_id: str, boards: Mapping[str, Board], joints: Sequence[LineJoints] = ()
) -> str:
    """A panel of a plan as an A4 landscape SVG: show face and back as glued, and the list of its defects.

    boards: by id, every board the panel's staves come from. joints: of its glue lines, drawn and listed.
    The back is drawn as seen through the panel, so both views share the panel's frame. An unmade panel gets
    a sheet that says why.
    Raises NotFound when the plan has no such panel or `boards` lacks one of its boards.
    """
    return svg(panel_sheets(plan, panel_id, boards, joints, paged=False)[0])


def panel_sheets(
    plan: Plan,
    panel_id: str,
    boards: Mapping[str, Board],
    joints: Sequence[LineJoints] = (),
    paged: bool = True,
) -> list[Sheet]:
    """The sheets behind `panel_layout`. paged: lists too long for one A4 page go on over the next."""
    wanted = next((panel for panel in plan.job.panels if panel.id == panel_id), None)
    made = next((panel for panel in plan.panels if panel.id == panel_id), None)
    if wanted is None or made is None:
        raise NotFound("panel in this plan", panel_id, [panel.id for panel in plan.panels[:3]])
    staves = laid_staves(plan, made, boards)
    species = staves[0].board.species if staves else " or ".join(wanted.species)
    size = f"{shown(wanted.length_mm)} × {shown(wanted.width_mm)} × {shown(wanted.thickness_mm)} mm finished"
    shows = "both faces seen" if wanted.show.value == "both" else "one face seen"
    lines = [f"for {plan.job.id}", f"{species} · {size}", shows]

    def page(what: str) -> tuple[Sheet, float]:
        sheet = Sheet(f"Panel {panel_id} of {plan.job.id}: layout", _spoken(wanted, staves, made.why))
        return sheet, head(sheet, panel_id, what, lines)

    flow = Flow(*page("panel layout"), next_page=partial(page, "panel layout, continued") if paged else None)
    if not staves:
        return [_unmade(flow.sheet, made.why, flow.top_mm)]
    room = flow.width_mm
    tables = _tables(staves, wanted) + ([joint_table(joints)] if joint_table(joints).rows else [])
    listed = sum(table.height_mm(room) + 2.5 for table in tables)
    for_lists = min(listed, max(50.0, 0.35 * flow.room_mm)) if paged else listed
    trim = plan.job.allowances
    show, back = (
        PanelFace(wanted, tuple(staves), seen, trim.end_trim_mm, trim.side_trim_mm, tuple(joints))
        for seen in (SHOW, BACK)
    )
    scale, beside = _arrangement(show, back, room, flow.room_mm - for_lists - 2)
    heights = [_heading_mm(face, scale) + _high_mm(face, scale) + _BELOW_MM for face in (show, back)]
    left = flow.sheet.left_mm + LEFT_ROOM_MM
    if beside:
        top = flow.claim(max(heights))
        _place(flow.sheet, show, scale, (left, top), named=True)
        _place(flow.sheet, back, scale, (left + _whole_mm(show, scale)[0] + RIGHT_ROOM_MM, top), named=False)
    else:
        for face, high in zip((show, back), heights, strict=True):
            _place(flow.sheet, face, scale, (left, flow.claim(high)), named=True)
    flow.top_mm += 2
    for table in roomiest(tables, room, flow.room_mm):
        flow.set_table(table)
    return flow.finish(_explained(staves), f"{scale_words(scale)} on A4")


def _explained(staves: Sequence[LaidStave]) -> str:
    """What the foot says of how it is drawn, and how to treat what is to be treated."""
    said = (
        "The back is drawn as if seen through the panel. Arrows run from end 1 to end 2 of each board; heavy"
        " lines are glue lines, the dashed line is the finished size."
    )
    if any(laid.method for stave in staves for laid in stave.defects):
        said += " A framed key is to be treated: gloves, moving air, and the product's label first."
    return f"{said} Lengths in mm."


def _place(sheet: Sheet, face: PanelFace, scale: float, corner: tuple[float, float], named: bool) -> None:
    """Draw a side of the panel under its heading, the heading's place at `corner`.

    named: boards and glue line places are written at its sides.
    """
    left, top = corner
    wide, drawn = _whole_mm(face, scale)
    high = _high_mm(face, scale)
    view = View(
        left + face.end_mm / scale,
        top + _heading_mm(face, scale) + (high + drawn) / 2 - face.side_mm / scale,
        scale,
    )
    upper, lower = view.y_mm + face.side_mm / scale - drawn, view.y_mm + face.side_mm / scale
    heading = Words(
        left - (LEFT_ROOM_MM if named else 0), top + 6, face.seen.capitalize(), 4.2, bold=True, serif=True
    )
    marks: list[Mark] = [heading, *panel_face_marks(face, view)]
    if named:
        marks += stave_names(face.staves, view, left, upper, lower)
        marks += glue_line_places(face.staves, view, left + wide, upper, lower)
    marks += length_line(face, view, shown(face.panel.length_mm))
    sheet.add(Group("face", face.seen, tuple(marks), f"The {face.seen} as glued"))


def _arrangement(show: PanelFace, back: PanelFace, room: float, high: float) -> tuple[float, bool]:
    """The scale of both sides, and whether they stand side by side. [mm of paper]"""
    sides = LEFT_ROOM_MM + RIGHT_ROOM_MM
    for scale in SCALES:
        wide = _whole_mm(show, scale)[0]
        each = [_heading_mm(face, scale) + _high_mm(face, scale) + _BELOW_MM for face in (show, back)]
        if wide + sides <= room and sum(each) <= high:
            return scale, False
        if 2 * wide + sides <= room and (max(each) <= high or wide < _LEAST_BESIDE_MM):
            return scale, True
    return SCALES[-1], True


def _whole_mm(face: PanelFace, scale: float) -> tuple[float, float]:
    """The panel with its trim on. [mm of paper]"""
    return (
        (face.panel.length_mm + 2 * face.end_mm) / scale,
        (face.panel.width_mm + 2 * face.side_mm) / scale,
    )


def _high_mm(face: PanelFace, scale: float) -> float:
    return max(_whole_mm(face, scale)[1], least_height_mm(len(face.staves)))


def _heading_mm(face: PanelFace, scale: float) -> float:
    return _HEADING_MM + tiers_over_panel(face, scale) * TIER_MM


def _tables(staves: list[LaidStave], panel: Panel) -> list[Table]:
    stave_rows = [
        (
            str(stave.place),
            stave.board.id,
            f"{stave.show.value}, turned" if stave.turned else stave.show.value,
            stave.heart,
            f"{stave.finished.width_mm}",
            f"{stave.rough.length_mm} × {stave.rough.width_mm}",
            "–" if stave.board.moisture_pct is None else f"{shown(stave.board.moisture_pct)} %",
        )
        for stave in staves
    ]
    defect_rows = [
        (
            laid.key,
            kind_words(laid.defect.kind),
            _faces(laid),
            str(stave.place),
            *_range_words(laid, panel),
            size_words(laid.defect),
            laid.done,
        )
        for stave in staves
        for laid in stave.defects
        if laid.number
    ]
    tables = [
        Table(
            (
                Column("stave", 11, bold=True),
                Column("board", 27, bold=True),
                Column("shows", 18),
                Column("heart", 20),
                Column("finished", 15),
                Column("rough", 23),
                Column("moisture", 17),
            ),
            stave_rows,
            gap_mm=8,
        )
    ]
    if defect_rows:
        tables.append(
            Table(
                (
                    Column("key", 9, bold=True),
                    Column("kind", 24),
                    Column("face", 13),
                    Column("stave", 10),
                    Column("panel X", 20),
                    Column("panel Y", 17),
                    Column("size", 16),
                    Column("what is done", 26),
                ),
                defect_rows,
                2.5,
                3.7,
                4,
            )
        )
    return tables


def _faces(laid: LaidDefect) -> str:
    if laid.defect.through:
        return "through"
    return "show" if laid.on_show else "back"


def _range_words(laid: LaidDefect, panel: Panel) -> tuple[str, str]:
    """Where it lies in the finished panel, along and across. [mm, panel frame]"""
    xs, ys = zip(*(point for part in laid.parts for point in part), strict=True)
    return (
        range_words(max(0.0, min(xs)), min(panel.length_mm, max(xs))),
        range_words(max(0.0, min(ys)), min(panel.width_mm, max(ys))),
    )


def _unmade(sheet: Sheet, why: str, top: float) -> Sheet:
    sheet.add(
        Words(sheet.left_mm, top + 14, "This panel is not made by the plan.", 6, bold=True, serif=True),
    )
    for number, line in enumerate(_lines(why or "No reason is recorded.", 110)):
        written = fitted(line, sheet.right_mm - sheet.left_mm, 3.8)
        sheet.add(Words(sheet.left_mm, top + 24 + number * 5.5, written, 3.8))
    foot(sheet, "Nothing is to be cut for this panel.", "not to scale")
    return sheet


def _lines(text: str, letters: int) -> list[str]:
    lines = wrap(text, letters)
    return lines if len(lines) <= 24 else [*lines[:24], "…"]


def _spoken(panel: Panel, staves: list[LaidStave], why: str) -> str:
    size = f"{shown(panel.length_mm)} by {shown(panel.width_mm)} by {shown(panel.thickness_mm)} mm"
    if not staves:
        return f"Panel {panel.id}, {size}, is not made: {why}"
    laid = "; ".join(
        f"stave {stave.place}, {stave.finished.width_mm} mm of board {stave.board.id}, face"
        f" {stave.show.value} showing{', turned end for end' if stave.turned else ''}"
        for stave in staves
    )
    listed = "; ".join(
        f"{found.key}, {kind_words(found.defect.kind)}, {found.done}"
        for stave in staves
        for found in stave.defects
        if found.number
    )
    return f"Panel {panel.id}, {size}, from the low edge up: {laid}. Defects: {listed or 'none inside'}."
