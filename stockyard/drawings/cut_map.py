"""A board's cut map: where to dock and rip it, what each piece is, and what is left."""

from dataclasses import dataclass
from functools import partial

from stockyard.drawings.callouts import TIER_MM
from stockyard.drawings.cut_detail import detail_marks, detail_size
from stockyard.drawings.cut_pieces import KERF_FILL, Pieces, SectionPiece, pieces_of, wood_marks
from stockyard.drawings.face import GUTTER_MM, keys_over, side_names, tiers_over
from stockyard.drawings.flow import Flow
from stockyard.drawings.kinds import face_words, keyed, kind_words, shown, size_words
from stockyard.drawings.lettering import width_mm
from stockyard.drawings.page import Column, Table, head, roomiest
from stockyard.drawings.scales import SCALES, View, scale_for, scale_words, spread, tiers_needed
from stockyard.drawings.sheet import (
    FINE,
    HAIR,
    PAPER,
    SOFT,
    TIMBER,
    Group,
    Line,
    Mark,
    Pen,
    Shape,
    Sheet,
    Words,
    rectangle,
)
from stockyard.drawings.svg import svg
from stockyard.errors import NotFound
from stockyard.measures.money import show
from stockyard.timber import Board, Plan

_TALLEST_BOARD_MM = 26.0
_TAPE_MM = 4.8
_LEAST_TAPE_MM = 3.4


def cut_map(plan: Plan, board: Board) -> str:
    """How one board of a plan is cut, as an A4 landscape SVG.

    The whole board at true proportion with the crosscuts to mark from end 1; each section larger, with the
    rips to mark from edge 1, its staves rough and finished, kerfs, offcuts and waste. Seen on face A; what
    lies on face B only is dashed. Raises NotFound when the plan does not cut this board.
    """
    return svg(cut_sheets(plan, board, paged=False)[0])


def cut_sheets(plan: Plan, board: Board, paged: bool = True) -> list[Sheet]:
    """The sheets behind `cut_map`. paged: what one A4 page does not hold goes on over the next."""
    cut = next((cut for cut in plan.boards if cut.id == board.id), None)
    if cut is None:
        raise NotFound("board cut in this plan", board.id, [other.id for other in plan.boards[:3]])
    pieces = pieces_of(plan, board, cut)
    size = f"{shown(board.length_mm)} × {shown(board.width_mm)} × {shown(board.thickness_mm)} mm"
    lines = [f"for {plan.job.id}", f"{board.species} · {size}", "face A up, end 1 left, edge 1 at the foot"]

    def page(what: str) -> tuple[Sheet, float]:
        sheet = Sheet(f"Board {board.id}: cut map for {plan.job.id}", _spoken(plan, board, pieces))
        return sheet, head(sheet, board.id, what, lines, size_mm=15, room_mm=130) + 4

    flow = Flow(*page("cut map"), next_page=partial(page, "cut map, continued") if paged else None)
    flow.top_mm = _whole_board(flow.sheet, board, pieces, flow.top_mm)
    tables = _tables(plan, board, pieces)
    room = flow.width_mm
    listed = sum(table.height_mm(room) + 2.5 for table in tables) + 8
    for_lists = min(listed, max(45.0, 0.35 * flow.room_mm)) if paged else listed
    rows, scale = _rows(board, pieces, room, flow.room_mm - for_lists)
    for row in rows:
        top = flow.claim(max(detail_size(detail, board, scale)[1] for detail in row))
        left = flow.sheet.left_mm
        for detail in row:
            flow.sheet.add(*detail_marks(detail, board, pieces, left, top, scale))
            left += detail_size(detail, board, scale)[0]
    top = flow.claim(8, with_mm=2 * tables[0].leading_mm if tables else 0)
    flow.sheet.add(*_legend(flow.sheet.left_mm, top, room))
    for table in roomiest(tables, room, flow.room_mm):
        flow.set_table(table)
    return flow.finish(
        f"Mark crosscuts from end 1 and rips from edge 1; each saw cut takes {shown(pieces.kerf_mm)}. Keep"
        " hands clear of the blade, use the guard, the riving knife and a push stick; support long stock."
        " Lengths in mm.",
        f"Sections {scale_words(scale)} on A4",
    )


@dataclass(frozen=True, slots=True)
class _Tape:
    """A mark to make along the tape: where the saw cut lies, and how it is written."""

    at_mm: float
    text: str


def _whole_board(sheet: Sheet, board: Board, pieces: Pieces, top: float) -> float:
    """Draw the whole board with its crosscuts; returns where it ends. [mm of paper]"""
    room = sheet.right_mm - sheet.left_mm - 2 * GUTTER_MM
    scale = scale_for(board.length_mm, board.width_mm, room, _TALLEST_BOARD_MM)
    found = keyed(board.defects)
    keys = tiers_over(found, board.length_mm / scale) * TIER_MM
    view = View(sheet.left_mm + GUTTER_MM, top + keys + 2 + board.width_mm / scale, scale)
    marks = wood_marks(board, pieces, view, found)
    marks += keys_over(found, view, board)
    marks += side_names(board, view)
    left, right = view.x_mm, view.at((board.length_mm, 0))[0]
    tape, below = _tape_marks(_crosscuts(board, pieces), view, left, right)
    marks += tape
    marks += _piece_names(pieces, view, left, right, below)
    sheet.add(Group("board", board.id, tuple(marks), f"The whole board at {scale_words(scale)}"))
    return below + 9.0


def _crosscuts(board: Board, pieces: Pieces) -> list[_Tape]:
    """The marks to make from end 1. Two sections a kerf apart share one cut, written with both its sides."""
    marks: list[_Tape] = []
    sections = pieces.sections
    for number, section in enumerate(sections):
        before = sections[number - 1].x1 if number else None
        if section.x0 > 0 and (before is None or section.x0 - before > pieces.kerf_mm):
            marks.append(_Tape(section.x0, str(section.x0)))
        after = sections[number + 1].x0 if number + 1 < len(sections) else None
        if after is not None and after - section.x1 <= pieces.kerf_mm:
            marks.append(_Tape((section.x1 + after) / 2, f"{section.x1}–{after}"))
        elif section.x1 < board.length_mm:
            marks.append(_Tape(section.x1, str(section.x1)))
    return marks


def _tape_marks(tape: list[_Tape], view: View, left: float, right: float) -> tuple[list[Mark], float]:
    """The marks written under the board, each by its cut; also the baseline of the lowest row."""
    left, right = left - 7, right + 7
    size = _TAPE_MM
    while size > _LEAST_TAPE_MM and sum(_tape_width(mark, size) for mark in tape) > right - left:
        size -= 0.2
    tiers = tiers_needed([_tape_width(mark, size) for mark in tape], right - left)
    leaders: list[Mark] = []
    writing: list[Mark] = []
    for tier in range(tiers):
        row = tape[tier::tiers]
        widths = [_tape_width(mark, size) for mark in row]
        wanted = [view.at((mark.at_mm, 0))[0] for mark in row]
        base = view.y_mm + 5.0 + size * 0.85 + tier * (size + 1.0)
        for mark, at, wide, x in zip(row, wanted, widths, spread(wanted, widths, left, right), strict=True):
            leaders.append(Line(((at, view.y_mm), (at, view.y_mm + 1.5), (x, base - size * 0.85)), FINE))
            if tiers > 1:
                backing = rectangle(x - wide / 2 + 0.8, base - size * 0.8, x + wide / 2 - 0.8, base + 0.4)
                writing.append(Shape(backing, None, PAPER))
            writing.append(Words(x, base, mark.text, size, "middle", bold=True))
    return leaders + writing, view.y_mm + 5.0 + size * 0.85 + (tiers - 1) * (size + 1.0)


def _piece_names(pieces: Pieces, view: View, left: float, right: float, below: float) -> list[Mark]:
    """The names of sections and of offcuts of full width, under their middles."""
    names = [(section.name, section.x0, section.x1) for section in pieces.sections]
    names += [(o.name, o.window.x0, o.window.x1) for o in pieces.offcuts if o.full_width]
    for size, shorten in ((3.4, False), (2.6, False), (2.6, True)):
        texts = [_short(name) if shorten else name for name, _, _ in names]
        wides = [width_mm(text, size) + 2 for text in texts]
        if sum(wides) <= right - left:
            break
    else:  # so many that only the drawings of the sections can carry their names
        return []
    middles = [view.at(((x0 + x1) / 2, 0))[0] for _, x0, x1 in names]
    return [
        Words(x, below + 4.8, text, size, "middle", colour=SOFT)
        for text, x in zip(texts, spread(middles, wides, left, right), strict=True)
    ]


def _short(name: str) -> str:
    """A number alone for a section, o and a number for an offcut."""
    word, number = name.split()
    return number if word == "section" else f"o{number}"


def _tape_width(mark: _Tape, size: float) -> float:
    return width_mm(mark.text, size, bold=True) + 2.2


def _rows(board: Board, pieces: Pieces, room: float, high: float) -> tuple[list[list[SectionPiece]], float]:
    """The sections set in rows, at the largest scale that fits the height. [mm of paper]"""
    fitting: tuple[list[list[SectionPiece]], float] | None = None
    for scale in SCALES[SCALES.index(5) :]:
        rows: list[list[SectionPiece]] = []
        used = room + 1.0
        too_wide = False
        for detail in pieces.sections:
            wide, _ = detail_size(detail, board, scale)
            too_wide |= wide > room
            if used + wide > room:
                rows.append([])
                used = 0.0
            rows[-1].append(detail)
            used += wide
        if too_wide:
            continue
        fitting = rows, scale
        total = sum(max(detail_size(d, board, scale)[1] for d in row) for row in rows)
        if total <= high or board.width_mm / scale < 12:
            break
    return fitting or ([[detail] for detail in pieces.sections], SCALES[-1])


def _tables(plan: Plan, board: Board, pieces: Pieces) -> list[Table]:
    staves = [
        (
            f"{stave.panel}, stave {stave.place}",
            f"{stave.rough.x0} – {stave.rough.x1}",
            f"{stave.rough.y0} – {stave.rough.y1}",
            f"{stave.rough.length_mm} × {stave.rough.width_mm}",
            f"{stave.finished.length_mm} × {stave.finished.width_mm}",
            f"face {stave.show}",
        )
        for stave in pieces.staves
    ]
    offcuts = [
        (
            offcut.name,
            f"{offcut.window.x0} – {offcut.window.x1}",
            f"{offcut.window.y0} – {offcut.window.y1}",
            f"{offcut.window.length_mm} × {offcut.window.width_mm}",
            "",
            show(offcut.value, plan.currency),
        )
        for offcut in pieces.offcuts
    ]
    columns = (
        Column("piece", 38, bold=True),
        Column("from end 1", 22),
        Column("from edge 1", 18),
        Column("rough", 20),
        Column("finished", 20),
        Column("face, worth", 17),
    )
    defects = [
        (key, f"{kind_words(d.kind)}, {face_words(d.face)}", size_words(d)) for key, d in keyed(board.defects)
    ]
    return [
        table
        for table in (
            Table(columns, staves + offcuts, gap_mm=3),
            Table(
                (Column("key", 9, bold=True), Column("defect", 36), Column("size", 20)), defects, 2.5, 3.6, 4
            ),
        )
        if table.rows
    ]


def _legend(left: float, top: float, room: float) -> list[Mark]:
    entries: list[tuple[str, Pen | None, str | None, str | None]] = [
        ("stave, rough", Pen(0.5), TIMBER, None),
        ("finished size", Pen(0.2, dash_mm=(1.4, 0.7)), None, None),
        ("offcut to rack", Pen(0.3), PAPER, None),
        ("waste", HAIR, PAPER, "waste"),
        ("saw cut", None, KERF_FILL, None),
        ("defect on face B only", Pen(0.25, dash_mm=(1.0, 0.6)), None, None),
    ]
    marks: list[Mark] = []
    for number, (words, pen, fill, hatch) in enumerate(entries):
        x = left + number * room / 6
        marks.append(Shape(rectangle(x, top + 0.6, x + 6, top + 4), pen, fill, hatch))
        marks.append(Words(x + 7.2, top + 3.4, words, 2.6))
    return [Group("legend", "pieces", tuple(marks), "How pieces are drawn")]


def _spoken(plan: Plan, board: Board, pieces: Pieces) -> str:
    docked = "; ".join(
        f"{section.name} from {section.x0} to {section.x1} mm from end 1" for section in pieces.sections
    )
    made = "; ".join(
        f"stave {stave.place} of {stave.panel}, {stave.rough.length_mm} by {stave.rough.width_mm} mm"
        for stave in pieces.staves
    )
    kept = "; ".join(
        f"{o.name} {o.window.length_mm} by {o.window.width_mm} mm worth {show(o.value, plan.currency)}"
        for o in pieces.offcuts
    )
    return f"Board {board.id} is docked into {docked}. Staves: {made}. Offcuts: {kept or 'none'}."
