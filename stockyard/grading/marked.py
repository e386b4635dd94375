"""A board's defect map as boxes of whole units, face by face: what the rules count and measure."""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from stockyard.grading.cuttings import Box
from stockyard.timber import Board, Defect, DefectKind, Face, Outline

UNITS_PER_MM = 10_000
INCH = 254_000
FOOT = 12 * INCH

BoxesOf = Callable[[Outline], Iterable[tuple[float, float, float, float]]]
"""How an outline is boxed: x0, y0, x1, y1 in mm. One box around it is the plainest way."""


def box_around(outline: Outline) -> list[tuple[float, float, float, float]]:
    """The one box around an outline. [mm]"""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return [(min(xs), min(ys), max(xs), max(ys))]


def joined(
    boxes: Iterable[tuple[float, float, float, float]], length_mm: float = 150.0
) -> list[tuple[float, float, float, float]]:
    """Boxes that follow each other along the board, joined until they are so long; so many fewer. [mm]

    For outlines sliced finely: a cutting is feet long, and the search takes time with the number of boxes.
    """
    found: list[tuple[float, float, float, float]] = []
    for a, b, c, d in sorted(boxes):
        if found and c - found[-1][0] <= length_mm:
            p, q, r, s = found[-1]
            found[-1] = (p, min(q, b), max(r, c), max(s, d))
        else:
            found.append((a, b, c, d))
    return found


def units(mm: float) -> int:
    """A length in whole units of 0.0001 mm, in which 0.1 mm and a hundredth of an inch are both exact."""
    return round(mm * UNITS_PER_MM)


@dataclass(frozen=True, slots=True)
class Mark:
    """A defect as the rules see it: itself, its boxes, and the one box around them. [units]"""

    defect: Defect
    boxes: tuple[Box, ...]

    @property
    def words(self) -> str:
        """What it is, as a person says it."""
        return self.defect.kind.replace("_", " ")

    @property
    def around(self) -> Box:
        """The box around all its boxes."""
        return (
            min(b[0] for b in self.boxes),
            min(b[1] for b in self.boxes),
            max(b[2] for b in self.boxes),
            max(b[3] for b in self.boxes),
        )

    @property
    def length(self) -> int:
        """Its size along the board. [units]"""
        return self.around[2] - self.around[0]

    @property
    def width(self) -> int:
        """Its size across the board. [units]"""
        return self.around[3] - self.around[1]


@dataclass(frozen=True, slots=True)
class MarkedBoard:
    """A board with its defects boxed. length, width: [units]."""

    board: Board
    length: int
    width: int
    marks: tuple[Mark, ...]

    @property
    def whole(self) -> Box:
        """The board's own box."""
        return (0, 0, self.length, self.width)

    def on(self, face: Face, kinds: Collection[DefectKind] | None = None) -> tuple[Mark, ...]:
        """What shows on a face, of those kinds only where they are given."""
        return tuple(
            mark
            for mark in self.marks
            if mark.defect.face in (face, Face.BOTH) and (kinds is None or mark.defect.kind in kinds)
        )


def marked(board: Board, boxes_of: BoxesOf = box_around) -> MarkedBoard:
    """A board's map, boxed."""
    marks = []
    for defect in board.defects:
        boxes = tuple((units(a), units(b), units(c), units(d)) for a, b, c, d in boxes_of(defect.outline))
        if boxes:
            marks.append(Mark(defect, boxes))
    return MarkedBoard(board, units(board.length_mm), units(board.width_mm), tuple(marks))
