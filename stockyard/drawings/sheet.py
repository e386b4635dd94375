"""A drawing as a list of marks on a page, before anyone decides what file it becomes.

Everything is in millimetres of paper from the top left corner, y down, so that a sheet can be written as SVG
or set on a PDF page at the same size. A sheet knows nothing of boards.
"""

from dataclasses import dataclass, field
from typing import Literal

from stockyard.timber import Point

A4_LANDSCAPE_MM = (297.0, 210.0)
A4_PORTRAIT_MM = (210.0, 297.0)
MARGIN_MM = 12.0
FOOT_MM = 16.0

INK = "#1d1b18"
SOFT = "#5f5b54"
FAINT = "#a39e94"
PAPER = "#ffffff"
TIMBER = "#f6f2e9"
SHADE = "#e4dfd4"


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn. [mm of paper]"""

    width_mm: float = 0.25
    colour: str = INK
    dash_mm: tuple[float, ...] = ()


HAIR = Pen(0.12, SOFT)
FINE = Pen(0.2)
LINE = Pen(0.3)
HEAVY = Pen(0.6)


@dataclass(frozen=True, slots=True)
class Line:
    """An open run of straight lines. arrow: a head at its last point."""

    points: tuple[Point, ...]
    pen: Pen = FINE
    arrow: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed polygon. fill: a plain colour; hatch: the name of a hatch laid over the fill."""

    points: tuple[Point, ...]
    pen: Pen | None = FINE
    fill: str | None = None
    hatch: str | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """One line of writing, its baseline starting, centred or ending at (x_mm, y_mm)."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = 2.8
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    serif: bool = False
    colour: str = INK


@dataclass(frozen=True, slots=True)
class Boxes:
    """Upright rectangles of one colour, filled as one thing so that no seam shows between them.

    boxes: (x0, y0, x1, y1) of each. [mm of paper]
    """

    boxes: tuple[tuple[float, float, float, float], ...]
    fill: str = INK


@dataclass(frozen=True, slots=True)
class Group:
    """Marks that are one thing: what it is (a word), which one, and how to say it aloud."""

    role: str
    name: str
    marks: tuple["Mark", ...]
    spoken: str = ""


Mark = Line | Shape | Words | Boxes | Group


@dataclass(slots=True)
class Sheet:
    """A page and the marks on it.

    title, spoken: what a screen reader says of it.
    """

    title: str
    spoken: str
    width_mm: float = A4_LANDSCAPE_MM[0]
    height_mm: float = A4_LANDSCAPE_MM[1]
    marks: list[Mark] = field(default_factory=list)

    def add(self, *marks: Mark) -> None:
        """Put marks on the page, over those already there."""
        self.marks.extend(marks)

    @property
    def left_mm(self) -> float:
        """Left end of the lines of writing."""
        return MARGIN_MM

    @property
    def right_mm(self) -> float:
        """Right end of the lines of writing."""
        return self.width_mm - MARGIN_MM

    @property
    def foot_mm(self) -> float:
        """Where the foot of the page begins."""
        return self.height_mm - FOOT_MM


def rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    """The corners of an upright rectangle. [mm of paper]"""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def arrow_head(tail: Point, tip: Point, pen: Pen) -> tuple[Point, ...]:
    """The triangle at the end of a line drawn with that pen. [mm of paper]"""
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / length, dy / length
    long, half = 5 * pen.width_mm + 0.7, 1.6 * pen.width_mm + 0.3
    base = (tip[0] - ux * long, tip[1] - uy * long)
    return (tip, (base[0] - uy * half, base[1] + ux * half), (base[0] + uy * half, base[1] - ux * half))
