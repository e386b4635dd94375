"""The pieces a board is cut into, named for a drawing, and how they are drawn on the wood."""

from dataclasses import dataclass
from decimal import Decimal

from stockyard.drawings.clipping import clipped
from stockyard.drawings.face import body, defect_mark
from stockyard.drawings.scales import View, corners
from stockyard.drawings.sheet import PAPER, SOFT, TIMBER, Group, Mark, Pen, Shape
from stockyard.errors import Broken
from stockyard.timber import Board, BoardCut, Defect, Face, Plan, Section, Strip, StripUse, Window

KERF_FILL = SOFT
FINISHED = Pen(0.2, dash_mm=(1.4, 0.7))
_ROUGH = Pen(0.5)
_OFFCUT = Pen(0.3)


@dataclass(frozen=True, slots=True)
class StavePiece:
    """A stave to be cut. place: 1 for the first of its panel."""

    panel: str
    place: int
    rough: Window
    finished: Window
    show: Face


@dataclass(frozen=True, slots=True)
class OffcutPiece:
    """A remnant for the rack, by a short name. full_width: it is a length of the whole board."""

    name: str
    window: Window
    value: Decimal
    full_width: bool


@dataclass(frozen=True, slots=True)
class SectionPiece:
    """A docked length and its strips from edge 1 up."""

    name: str
    x0: int
    x1: int
    strips: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class Pieces:
    """Everything that one board is cut into."""

    kerf_mm: float
    sections: tuple[SectionPiece, ...]
    staves: tuple[StavePiece, ...]
    offcuts: tuple[OffcutPiece, ...]

    def stave(self, strip: Strip) -> StavePiece:
        """The stave that a strip of use `stave` is cut for."""
        for stave in self.staves:
            if stave.panel == strip.panel and stave.place - 1 == strip.stave:
                return stave
        raise Broken(f"The plan has a strip for stave {strip.stave} of {strip.panel!r} but no such stave.")

    def offcut(self, section: SectionPiece, strip: Strip) -> OffcutPiece | None:
        """The offcut a strip is kept as, if it is."""
        for offcut in self.offcuts:
            window = offcut.window
            if (window.x0, window.x1, window.y0, window.y1) == (section.x0, section.x1, strip.y0, strip.y1):
                return offcut
        return None


def pieces_of(plan: Plan, board: Board, cut: BoardCut) -> Pieces:
    """The pieces of `cut`, in order from end 1 and edge 1."""
    staves = [
        StavePiece(panel.id, place, stave.rough, stave.finished, stave.show)
        for panel in plan.panels
        for place, stave in enumerate(panel.staves, 1)
        if stave.board == board.id
    ]
    offcuts = sorted(cut.offcuts, key=lambda offcut: offcut.window)
    return Pieces(
        plan.job.allowances.kerf_mm,
        tuple(_section(number, section) for number, section in enumerate(cut.sections, 1)),
        tuple(sorted(staves, key=lambda stave: stave.rough)),
        tuple(
            OffcutPiece(
                f"offcut {number}", o.window, o.value, o.window.y0 == 0 and o.window.y1 >= int(board.width_mm)
            )
            for number, o in enumerate(offcuts, 1)
        ),
    )


def wood_marks(
    board: Board, pieces: Pieces, view: View, found: list[tuple[str, Defect]], part: Window | None = None
) -> list[Mark]:
    """The wood with its cuts, pieces and defects; only what lies in `part` when it is given."""
    marks: list[Mark] = []
    if part is None:
        marks += [body(board, view), _board_shape(board, view)]
    else:
        marks += [Shape(view.box(part), None, PAPER, "waste")]
    for section in pieces.sections:
        if part is None or (part.x0 <= section.x0 and section.x1 <= part.x1):
            marks += _section_marks(board, section, pieces, view, part is None)
    for offcut in pieces.offcuts:
        if part is None or part.holds(offcut.window):
            shape = Shape(view.box(offcut.window), _OFFCUT, PAPER)
            marks.append(Group("offcut", offcut.name, (shape,), _offcut_words(offcut)))
    for stave in pieces.staves:
        if part is None or part.holds(stave.rough):
            drawn = (
                Shape(view.box(stave.rough), _ROUGH, TIMBER),
                Shape(view.box(stave.finished), FINISHED),
            )
            marks.append(Group("stave", f"{stave.panel}/{stave.place}", drawn, _stave_words(stave)))
    for key, defect in found:
        inside = defect if part is None else _within(defect, part)
        if inside is not None:
            marks.append(defect_mark(key, inside, view, hidden=defect.face is Face.B))
    if part is None:
        marks.append(Shape(view.outline(corners(0, 0, board.length_mm, board.width_mm)), Pen(0.3)))
    return marks


def _section(number: int, section: Section) -> SectionPiece:
    return SectionPiece(f"section {number}", section.x0, section.x1, section.strips)


def _board_shape(board: Board, view: View) -> Shape:
    return Shape(view.outline(corners(0, 0, board.length_mm, board.width_mm)), None, PAPER, "waste")


def _section_marks(
    board: Board, section: SectionPiece, pieces: Pieces, view: View, crosscuts: bool
) -> list[Mark]:
    """The saw cuts around a section and between its strips."""
    kerf = pieces.kerf_mm
    cuts: list[tuple[float, float, float, float]] = []
    if crosscuts:
        cuts += [
            (section.x0 - kerf, 0, section.x0, board.width_mm),
            (section.x1, 0, section.x1 + kerf, board.width_mm),
        ]
    for strip in section.strips:
        if strip.use is StripUse.WASTE:
            continue
        cuts += [
            (section.x0, strip.y0 - kerf, section.x1, strip.y0),
            (section.x0, strip.y1, section.x1, strip.y1 + kerf),
        ]
        if strip.use is StripUse.STAVE:
            rough = pieces.stave(strip).rough
            cuts += [
                (max(section.x0, rough.x0 - kerf), strip.y0, rough.x0, strip.y1),
                (rough.x1, strip.y0, min(section.x1, rough.x1 + kerf), strip.y1),
            ]
    marks: list[Mark] = []
    for x0, y0, x1, y1 in cuts:
        x0, x1 = max(0.0, x0), min(board.length_mm, x1)
        y0, y1 = max(0.0, y0), min(board.width_mm, y1)
        if x0 < x1 and y0 < y1:
            marks.append(Shape(view.outline(corners(x0, y0, x1, y1)), None, KERF_FILL))
    return marks


def _within(defect: Defect, part: Window) -> Defect | None:
    """The part of a defect inside a rectangle, None where there is none."""
    pieces = clipped(defect.outline, part)
    if not pieces:
        return None
    return Defect(defect.id, defect.kind, defect.face, pieces[0], defect.depth_mm, defect.opening_mm)


def _offcut_words(offcut: OffcutPiece) -> str:
    window = offcut.window
    return (
        f"{offcut.name}, {window.length_mm} by {window.width_mm} mm, from {window.x0} mm of end 1 and"
        f" {window.y0} mm of edge 1"
    )


def _stave_words(stave: StavePiece) -> str:
    rough = stave.rough
    return (
        f"stave {stave.place} of {stave.panel}, rough {rough.length_mm} by {rough.width_mm} mm, from"
        f" {rough.x0} mm of end 1 and {rough.y0} mm of edge 1, face {stave.show.value} showing"
    )
