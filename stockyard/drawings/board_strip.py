"""A board in a line of a list: face A at true proportion, its flaws marked, small enough to send many."""

from html import escape
from itertools import pairwise

from stockyard.drawings.kinds import kind_words
from stockyard.timber import WEAKENING, Board, Face

LEAST_PX = 5.0
"""A narrow offcut is drawn no lower than this, or nobody would see it."""


def board_strip(board: Board, longest_mm: float, width_px: float = 240.0) -> str:
    """A small SVG of the board, `width_px` wide for a board of `longest_mm`. [px]

    Length and width are at one scale. Flaws of face A and through ones are filled, those of face B only are
    outlined; weakening ones are darker. Styled by the page through its classes, since a list holds many.
    """
    scale = width_px / longest_mm
    long, high = board.length_mm * scale, max(LEAST_PX, board.width_mm * scale)
    down = high / board.width_mm
    marks = []
    for defect in board.defects:
        points = [(x * scale, high - y * down) for x, y in defect.outline]
        seen = "weak" if defect.kind in WEAKENING else "sound"
        far = " far" if defect.face is Face.B else ""
        marks.append(f'<path class="{seen}{far}" d="{_path(points)}"/>')
    kinds = sorted({kind_words(defect.kind) for defect in board.defects})
    told = f"{len(board.defects)}: {', '.join(kinds)}" if kinds else ""
    title = f"<title>{escape(told)}</title>" if told else ""
    size = f'width="{_n(long)}" height="{_n(high)}" viewBox="0 0 {_n(long)} {_n(high)}"'
    return (
        f'<svg class="strip" {size} aria-hidden="true">{title}'
        f'<rect width="{_n(long)}" height="{_n(high)}"/>{"".join(marks)}</svg>'
    )


def _path(points: list[tuple[float, float]]) -> str:
    """A closed path by whole tenths of a pixel, points that fall together left out."""
    rounded = [(round(x, 1), round(y, 1)) for x, y in points]
    kept = [b for a, b in pairwise([(-1.0, -1.0), *rounded]) if a != b]
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in kept) + "z"


def _n(value: float) -> str:
    return f"{round(value, 1):g}"
