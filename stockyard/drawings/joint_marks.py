"""The joints in a panel's glue lines: where they go, drawn on the panel and listed."""

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.drawings.kinds import shown
from stockyard.drawings.page import Column, Table
from stockyard.drawings.scales import View, corners
from stockyard.drawings.sheet import PAPER, Group, Mark, Pen, Shape
from stockyard.timber import Outline

_OUTLINE = Pen(0.3)
_PER_ROW = 12


@dataclass(frozen=True, slots=True)
class LineJoints:
    """The joints of one glue line, in the panel's frame. [mm]

    kind: as written ("biscuit"). between: the numbers of its two staves, 1 first. y_mm: of the line.
    centres_mm: from the first finished end. stretches_mm: for a spline, where its groove runs.
    half_length_mm, reach_mm: of a joint, along the line and into each stave. marks_mm: struck to each side of
    a centre, 0 for none.
    """

    kind: str
    between: tuple[int, int]
    y_mm: float
    centres_mm: tuple[float, ...] = ()
    stretches_mm: tuple[tuple[float, float], ...] = ()
    half_length_mm: float = 28.0
    reach_mm: float = 12.0
    marks_mm: float = 0.0

    @property
    def outlines(self) -> tuple[Outline, ...]:
        """What each joint takes of the panel, seen on its face. [mm, panel frame]"""
        low, high = self.y_mm - self.reach_mm, self.y_mm + self.reach_mm
        half = self.half_length_mm
        grooves = tuple(corners(a, low, b, high) for a, b in self.stretches_mm)
        if half <= self.reach_mm:
            return grooves + tuple(corners(x - half, low, x + half, high) for x in self.centres_mm)
        return grooves + tuple(
            (
                (x - half, self.y_mm),
                (x - half / 2, high),
                (x + half / 2, high),
                (x + half, self.y_mm),
                (x + half / 2, low),
                (x - half / 2, low),
            )
            for x in self.centres_mm
        )


def joint_marks(lines: Sequence[LineJoints], view: View) -> list[Mark]:
    """Every joint in its glue line."""
    return [
        Group(
            "joints",
            f"{line.between[0]}-{line.between[1]}",
            tuple(Shape(view.outline(outline), _OUTLINE, PAPER) for outline in line.outlines),
            f"{line.kind} joints between staves {line.between[0]} and {line.between[1]}: {_places(line)}",
        )
        for line in lines
    ]


def joint_table(lines: Sequence[LineJoints]) -> Table:
    """The list of joints, to strike from the panel's first finished end."""
    rows = []
    for line in lines:
        places = [f"{x:.0f}" for x in line.centres_mm]
        places += [f"{a:.0f} to {b:.0f}" for a, b in line.stretches_mm]
        for start in range(0, len(places), _PER_ROW):
            first = start == 0
            rows.append(
                (
                    f"{line.between[0]} and {line.between[1]}" if first else "",
                    line.kind if first else "",
                    ", ".join(places[start : start + _PER_ROW]),
                )
            )
    marks = {line.marks_mm for line in lines if line.centres_mm and line.marks_mm}
    beside = f", marks {shown(min(marks))} to each side" if marks else ""
    return Table(
        (
            Column("glue line", 20, bold=True),
            Column("joint", 18),
            Column(f"centres from the first finished end{beside}", 110),
        ),
        rows,
    )


def _places(line: LineJoints) -> str:
    grooves = [f"a groove from {shown(a)} to {shown(b)}" for a, b in line.stretches_mm]
    return ", ".join([*(shown(x) for x in line.centres_mm), *grooves]) or "none"
