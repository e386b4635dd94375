"""The staves of a panel as they lie in it: their places, and their defects in the panel's frame."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count
from math import ceil

from stockyard.drawings.clipping import clipped
from stockyard.drawings.kinds import LETTERS
from stockyard.errors import NotFound
from stockyard.geometry.frames import stave_point
from stockyard.timber import Board, Defect, Face, MadePanel, Outline, Plan, Stave, Window


@dataclass(frozen=True, slots=True)
class LaidDefect:
    """A defect that reaches into a stave as glued, trim included.

    number: its number in the list; 0 when it needs none, lying in what is trimmed or planed away.
    method: what it is treated with, empty when accepted. parts: its outlines in the panel frame. [mm]
    """

    number: int
    defect: Defect
    on_show: bool
    on_back: bool
    method: str
    parts: tuple[Outline, ...]

    @property
    def key(self) -> str:
        """Its letter and number, as on the drawing and in the list."""
        return f"{LETTERS[self.defect.kind]}{self.number}"

    @property
    def done(self) -> str:
        """What is done about it."""
        return self.method or "accepted as it is"


@dataclass(frozen=True, slots=True)
class LaidStave:
    """A stave in its place. y0_mm, y1_mm: where its finished edges lie across the panel.

    heart: "heart up" or "heart down" as seen on the show face, "–" where not known.
    """

    place: int
    board: Board
    show: Face
    turned: bool
    finished: Window
    rough: Window
    y0_mm: float
    y1_mm: float
    defects: tuple[LaidDefect, ...]

    @property
    def heart(self) -> str:
        """Which way the heart side lies."""
        if self.board.heart_face is None:
            return "–"
        return "heart up" if self.board.heart_face is self.show else "heart down"


def laid_staves(plan: Plan, made: MadePanel, boards: Mapping[str, Board]) -> list[LaidStave]:
    """The staves of a made panel from its low edge up, their listed defects numbered through.

    Raises NotFound when `boards` lacks one of them.
    """
    numbers = count(1)
    laid: list[LaidStave] = []
    y = 0.0
    for place, stave in enumerate(made.staves):
        board = boards.get(stave.board)
        if board is None:
            raise NotFound("board", stave.board)
        first, last = place == 0, place == len(made.staves) - 1
        glued = _as_glued(plan, stave, board, first, last)
        y1 = y + stave.finished.width_mm
        defects = tuple(_laid_defects(stave, board, glued, y, numbers))
        laid.append(
            LaidStave(place + 1, board, stave.show, stave.turned, stave.finished, stave.rough, y, y1, defects)
        )
        y = y1
    return laid


def _as_glued(plan: Plan, stave: Stave, board: Board, first: bool, last: bool) -> Window:
    """The stave after jointing, in the board frame: its finished rectangle and the trim around it."""
    trim = plan.job.allowances
    end, side = ceil(trim.end_trim_mm), ceil(trim.side_trim_mm)
    flipped = (stave.show is Face.B) != stave.turned
    low, high = (last, first) if flipped else (first, last)
    window = stave.finished
    return Window(
        max(0, window.x0 - end),
        max(0, window.y0 - (side if low else 0)),
        min(int(board.length_mm), window.x1 + end),
        min(int(board.width_mm), window.y1 + (side if high else 0)),
    )


def _laid_defects(
    stave: Stave, board: Board, glued: Window, y: float, numbers: "count[int]"
) -> list[LaidDefect]:
    methods = {treatment.defect: treatment.method for treatment in stave.treat}
    listed = {*methods, *stave.accept}
    laid = []
    for defect in sorted(board.defects, key=lambda d: min(d.outline)):
        parts = clipped(defect.outline, glued)
        if not parts:
            continue
        laid.append(
            LaidDefect(
                next(numbers) if defect.id in listed else 0,
                defect,
                defect.through or defect.face is stave.show,
                defect.through or defect.face is stave.show.other,
                methods.get(defect.id, ""),
                tuple(_in_panel(part, stave, y) for part in parts),
            )
        )
    return laid


def _in_panel(outline: Outline, stave: Stave, y: float) -> Outline:
    laid = (stave_point(point, stave.finished, stave.show, stave.turned) for point in outline)
    return tuple((along, across + y) for along, across in laid)
