"""One docked section drawn large enough to rip from: places from edge 1, widths, what each strip is."""

from itertools import pairwise

from stockyard.drawings.callouts import Box, around, first_free
from stockyard.drawings.cut_pieces import Pieces, SectionPiece, wood_marks
from stockyard.drawings.kinds import keyed
from stockyard.drawings.lettering import fitted, width_mm
from stockyard.drawings.scales import View, spread
from stockyard.drawings.sheet import (
    FINE,
    HAIR,
    INK,
    PAPER,
    SOFT,
    TIMBER,
    Group,
    Line,
    Mark,
    Shape,
    Words,
    rectangle,
)
from stockyard.timber import Board, Strip, StripUse, Window

TITLE_MM = 6.5
BELOW_MM = 5.0
RIP_MM = 4.2
RIPS_ROOM_MM = 22.0
BESIDE_ROOM_MM = 40.0
_BETWEEN_MM = 6.0
_WIDTH_MM = 5.0
_INSIDE_LEAST_MM = 5.2
_NAMED_WASTE_MM = 3.4


def detail_size(section: SectionPiece, board: Board, scale: float) -> tuple[float, float]:
    """Width and height of a section drawn large, with everything written around it. [mm of paper]"""
    wide = (section.x1 - section.x0) / scale
    beside = BESIDE_ROOM_MM if _outside(section, scale) else 0.0
    high = max(board.width_mm / scale, (len(_rips(section, board)) + 0.3) * RIP_MM * 1.15)
    if beside:
        high = max(high, len(_outside(section, scale)) * _WIDTH_MM * 1.15)
    return RIPS_ROOM_MM + wide + beside + _BETWEEN_MM, TITLE_MM + high + BELOW_MM


def detail_marks(
    section: SectionPiece, board: Board, pieces: Pieces, left: float, top: float, scale: float
) -> list[Mark]:
    """Draw a section, the corner of its room at (left, top). [mm of paper]"""
    _, high = detail_size(section, board, scale)
    drawn = board.width_mm / scale
    slack = (high - TITLE_MM - BELOW_MM - drawn) / 2
    # The section's own start stands at the left, so wood x = 0 lies further left still.
    view = View(left + RIPS_ROOM_MM - section.x0 / scale, top + TITLE_MM + slack + drawn, scale)
    part = Window(section.x0, 0, section.x1, int(board.width_mm))
    wide = (section.x1 - section.x0) / scale
    title = f"Section {section.name.split()[-1]}"
    length = f"{section.x1 - section.x0} long"
    marks: list[Mark] = [
        Words(left + RIPS_ROOM_MM, top + 4, title, 3.8, bold=True, serif=True),
    ]
    if wide > width_mm(title, 3.8, bold=True, serif=True) + width_mm(length, 3.2) + 3:
        marks.append(Words(left + RIPS_ROOM_MM + wide, top + 4, length, 3.2, "end", colour=SOFT))
    marks += wood_marks(board, pieces, view, keyed(board.defects), part)
    marks.append(Shape(view.box(part), FINE))
    marks += _rip_marks(section, board, view, left, top + TITLE_MM, top + high - BELOW_MM)
    outside = _outside(section, scale)
    taken = [around(view.outline(defect.outline)) for defect in board.defects]
    for strip in section.strips:
        if strip not in outside and not _unnamed(strip, scale):
            marks += _inside_label(section, strip, pieces, view, taken)
    marks += _beside_labels(section, outside, pieces, view, top + TITLE_MM, top + high - BELOW_MM)
    spoken = f"{section.name}, from {section.x0} to {section.x1} mm of end 1"
    return [Group("section", section.name, tuple(marks), spoken)]


def _rips(section: SectionPiece, board: Board) -> list[tuple[float, str]]:
    """The marks to make from edge 1; strips a kerf apart share one, written with both sides of the cut."""
    strips = section.strips
    marks: list[tuple[float, str]] = []
    if strips and strips[0].y0 > 0:
        marks.append((strips[0].y0, str(strips[0].y0)))
    for low, high in pairwise(strips):
        marks.append(((low.y1 + high.y0) / 2, f"{low.y1}–{high.y0}"))
    if strips and strips[-1].y1 < board.width_mm:
        marks.append((strips[-1].y1, str(strips[-1].y1)))
    return marks


def _rip_marks(
    section: SectionPiece, board: Board, view: View, left: float, high: float, low: float
) -> list[Mark]:
    rips = _rips(section, board)
    edge, _ = view.at((section.x0, 0))
    wanted = [view.at((0, y))[1] for y, _ in rips]
    placed = spread(wanted, [RIP_MM * 1.15] * len(rips), high - 1, low + 1)
    marks: list[Mark] = []
    for (_, text), at, y in zip(rips, wanted, placed, strict=True):
        end = left + RIPS_ROOM_MM - 4.2
        marks.append(Line(((edge, at), (edge - 1.2, at), (end + 0.6, y)), FINE))
        marks.append(Words(end, y + RIP_MM * 0.36, text, RIP_MM, "end", bold=True))
    return marks


def _outside(section: SectionPiece, scale: float) -> list[Strip]:
    """Strips too thin or too short to be written on, other than waste."""
    long = (section.x1 - section.x0) / scale
    return [
        strip
        for strip in section.strips
        if strip.use is not StripUse.WASTE and ((strip.y1 - strip.y0) / scale < _INSIDE_LEAST_MM or long < 42)
    ]


def _unnamed(strip: Strip, scale: float) -> bool:
    return strip.use is StripUse.WASTE and (strip.y1 - strip.y0) / scale < _NAMED_WASTE_MM


def _inside_label(
    section: SectionPiece, strip: Strip, pieces: Pieces, view: View, taken: list[Box]
) -> list[Mark]:
    """A strip's width and name, inside it and clear of its defects where there is such a place."""
    long = (section.x1 - section.x0) / view.scale
    x, middle = view.at(((section.x0 + section.x1) / 2, (strip.y0 + strip.y1) / 2))
    waste = strip.use is StripUse.WASTE
    figure = "" if waste else str(strip.y1 - strip.y0)
    figure_wide = width_mm(figure, _WIDTH_MM, bold=True) + (0 if waste else 2)
    size = 2.5 if waste else 3.2
    name = "waste" if waste else fitted(_name(section, strip, pieces), long - figure_wide - 8, size)
    half = (figure_wide + width_mm(name, size)) / 2 + 1
    high = 1.5 if waste else 2.3
    reach = max(0.0, long / 2 - half - 2)
    shifts = [0.0, *(sign * reach * step / 6 for step in range(1, 7) for sign in (-1, 1))]
    boxes = [Box(x + s - half, middle - high, x + s + half, middle + high) for s in shifts]
    box = first_free(boxes, taken) or boxes[0]
    taken.append(box)
    fill = TIMBER if strip.use is StripUse.STAVE else PAPER
    marks: list[Mark] = [Shape(rectangle(box.x0, box.y0, box.x1, box.y1), None, fill)]
    if figure:
        marks.append(Words(box.x0 + 1, middle + 1.8, figure, _WIDTH_MM, bold=True))
    colour = SOFT if waste else INK
    marks.append(Words(box.x0 + 1 + figure_wide, middle + size * 0.38, name, size, colour=colour))
    return marks


def _beside_labels(
    section: SectionPiece, strips: list[Strip], pieces: Pieces, view: View, high: float, low: float
) -> list[Mark]:
    edge, _ = view.at((section.x1, 0))
    wanted = [view.at((0, (strip.y0 + strip.y1) / 2))[1] for strip in strips]
    placed = spread(wanted, [_WIDTH_MM * 1.15] * len(strips), high, low)
    marks: list[Mark] = []
    for strip, at, y in zip(strips, wanted, placed, strict=True):
        figure = str(strip.y1 - strip.y0)
        wide = width_mm(figure, _WIDTH_MM, bold=True)
        marks.append(Line(((edge - 1, at), (edge + 1.2, at), (edge + 3.4, y)), HAIR))
        marks.append(Words(edge + 4, y + 1.8, figure, _WIDTH_MM, bold=True))
        room = BESIDE_ROOM_MM - 5 - wide - 1.5
        marks.append(
            Words(edge + 4 + wide + 1.5, y + 1.5, fitted(_name(section, strip, pieces), room, 3.0), 3.0)
        )
    return marks


def _name(section: SectionPiece, strip: Strip, pieces: Pieces) -> str:
    if strip.use is StripUse.STAVE:
        stave = pieces.stave(strip)
        shorter = stave.rough.length_mm < section.x1 - section.x0
        return f"{stave.panel} · stave {stave.place}" + (
            f", dock to {stave.rough.length_mm}" if shorter else ""
        )
    offcut = pieces.offcut(section, strip)
    return offcut.name if offcut else "offcut"
