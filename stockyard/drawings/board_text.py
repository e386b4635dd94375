"""A board's map in plain characters, for a terminal."""

import textwrap
from unicodedata import category, east_asian_width

from stockyard.drawings.face import on_face
from stockyard.drawings.kinds import (
    LETTERS,
    depth_words,
    face_words,
    keyed,
    kind_words,
    range_words,
    shown,
    size_words,
    span,
)
from stockyard.errors import BadInput, Fault
from stockyard.geometry.footprint import footprint
from stockyard.timber import WEAKENING, Board, Defect, DefectKind, Face

_MARGIN = 4  # columns before a row: the edge's number and the end mark
LEAST_COLUMNS = 48
_SEVERAL = "*"


def board_text(board: Board, columns: int = 80) -> str:
    """Both faces of a board as lines of at most `columns` characters, with a ruler and the list of defects.

    Each character stands for one cell of the face; a cell that a defect's footprint meets carries the letter
    of its kind. Where kinds meet, one that weakens the wood is shown before one that does not, and * where
    they are alike in that. Face B is drawn as if seen through the board.
    columns: 48 or more. Raises BadInput when there are fewer.
    """
    if columns < LEAST_COLUMNS:
        raise BadInput(
            f"A board's map needs at least {LEAST_COLUMNS} columns.",
            [Fault("columns", f"{LEAST_COLUMNS} or more", str(columns))],
        )
    found = keyed(board.defects)
    across = columns - _MARGIN - 2
    per_column = board.length_mm / across
    down = min(12, max(6, round(board.width_mm / (2 * per_column))))
    lines = _heading(board)
    for face in (Face.A, Face.B):
        lines += ["", _face_name(board, face)]
        lines += _grid(board, [defect for _, defect in on_face(found, face)], across, down)
    lines += [_ticks(board, across), _figures(board, across), ""]
    lines.append(
        f"One character is {shown(per_column)} mm along and {shown(board.width_mm / down)} mm across."
    )
    lines += [part for line in _list(found) for part in _wrapped(line, columns)]
    return "\n".join(_cut(_plain(line).rstrip(), columns) for line in lines) + "\n"


def _heading(board: Board) -> list[str]:
    size = f"{shown(board.length_mm)} x {shown(board.width_mm)} x {shown(board.thickness_mm)} mm"
    moisture = "not read" if board.moisture_pct is None else f"{shown(board.moisture_pct)} %"
    return [f"{board.id}  {board.species}", f"{size}, moisture {moisture}"]


def _face_name(board: Board, face: Face) -> str:
    side = ""
    if board.heart_face is not None:
        side = ", heart side" if board.heart_face is face else ", bark side"
    through = " (as if seen through the board)" if face is Face.B else ""
    return f"Face {face.value}{side}{through}"


def _grid(board: Board, defects: list[Defect], across: int, down: int) -> list[str]:
    wide, high = board.length_mm / across, board.width_mm / down
    cells: list[list[set[DefectKind]]] = [[set() for _ in range(across)] for _ in range(down)]
    for defect in defects:
        for box in footprint(defect.outline):
            for row in _met(box.y0, box.y1, high, down):
                for column in _met(box.x0, box.x1, wide, across):
                    cells[row][column].add(defect.kind)
    rows = ["".join(_letter(kinds) for kinds in cells[row]) for row in reversed(range(down))]
    lines = []
    for number, drawn in enumerate(rows):
        edge = "2" if number == 0 else "1" if number == down - 1 else " "
        lines.append(f"  {edge} |{drawn}|")
    return lines


def _letter(kinds: set[DefectKind]) -> str:
    telling = kinds & WEAKENING or kinds
    if not telling:
        return "."
    return LETTERS[next(iter(telling))] if len(telling) == 1 else _SEVERAL


def _met(low: int, high: int, step: float, count: int) -> range:
    """The cells that share length with [low, high]."""
    first = min(count - 1, max(0, int(low / step + 1e-9)))
    last = int(high / step - 1e-9)
    return range(first, max(first, min(count - 1, last)) + 1)


def _ticks(board: Board, across: int) -> str:
    line = ["-"] * (across + 2)
    for x in (*_marked(board), board.length_mm):
        line[_ruler_place(board, across, x)] = "+"
    return " " * _MARGIN + "".join(line)


def _figures(board: Board, across: int) -> str:
    line = [" "] * (across + 2)
    end = shown(board.length_mm)
    line[len(line) - len(end) :] = end
    for x in _marked(board):
        text = str(x)
        start = _ruler_place(board, across, x)
        if start + len(text) < len(line) - len(end):
            line[start : start + len(text)] = text
    return " " * _MARGIN + "".join(line)


def _ruler_place(board: Board, across: int, x_mm: float) -> int:
    """The place of x between the two end bars, 0 for end 1."""
    return min(across + 1, round(x_mm / board.length_mm * (across + 1)))


def _marked(board: Board) -> range:
    step = next(s for s in (50, 100, 200, 500, 1000, 2000, 5000, 10**6) if board.length_mm / s <= 10)
    return range(0, int(board.length_mm) + 1, step)


def _list(found: list[tuple[str, Defect]]) -> list[str]:
    if not found:
        return ["No defects are mapped on this board."]
    lines = [". clear   * several kinds   edge 1 at the foot, end 1 at the left", ""]
    lines.append(f"{'key':<5}{'kind':<15}{'face':<8}{'from end 1':<11}{'from edge 1':<12}size")
    for key, defect in found:
        x0, y0, x1, y1 = span(defect)
        lines.append(
            f"{key:<5}{kind_words(defect.kind):<15}{face_words(defect.face):<8}"
            f"{range_words(x0, x1, '-'):<11}{range_words(y0, y1, '-'):<12}"
            f"{size_words(defect).replace('×', 'x'):<11}{depth_words(defect)}"
        )
    return lines


def _wrapped(line: str, columns: int) -> list[str]:
    return textwrap.wrap(line, columns, subsequent_indent=" " * 5) or [""]


def _plain(line: str) -> str:
    # A name may hold anything, a terminal's control sequences too.
    return "".join("?" if category(letter).startswith("C") else letter for letter in line)


def _cut(line: str, columns: int) -> str:
    used = 0
    for place, letter in enumerate(line):
        used += 2 if east_asian_width(letter) in "WF" else 1
        if used > columns:
            return line[:place]
    return line
