"""Where the joints of a glue line go: at a pitch, clear of ends, later cuts and flaws.

In an edge joint biscuits and dowels locate the staves more than they strengthen the line; what matters is
that none comes to light when the panel is trimmed, shaped or cut later.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import ceil, isfinite

from stockyard.errors import BadInput, Fault
from stockyard.geometry.footprint import footprint
from stockyard.geometry.frames import stave_point
from stockyard.timber import Board, MadePanel, Stave

Span = tuple[float, float]  # along the panel from its first finished end, mm


class JointKind(StrEnum):
    """What goes into a glue line besides glue."""

    BISCUIT = "biscuit"
    DOWEL = "dowel"
    SPLINE = "spline"
    PLAIN = "plain"


@dataclass(frozen=True, slots=True)
class JointHabits:
    """How the workshop lays out joints. [mm] Habits without a published source.

    pitch: between centres. end_clear: from a trimmed end to the first centre. defect_clear: between a joint
    and a flaw; cut_clear: between a joint and a later cut. reach: how far a joint reaches into a stave, the
    depth of its slot or hole. half_length: half of what it takes along the line (a #20 biscuit is 56 mm long
    by the usual maker's figure). marks: struck to each side of the centre for a router's slot-cutter.
    """

    kind: JointKind = JointKind.BISCUIT
    pitch_mm: float = 300.0
    end_clear_mm: float = 60.0
    defect_clear_mm: float = 10.0
    cut_clear_mm: float = 10.0
    reach_mm: float = 12.0
    half_length_mm: float = 28.0
    marks_mm: float = 30.0


DOWELS = JointHabits(JointKind.DOWEL, pitch_mm=200.0, reach_mm=25.0, half_length_mm=4.0, marks_mm=0.0)
"""8 mm dowels, 50 mm long; habit, no source."""

SPLINE = JointHabits(JointKind.SPLINE, reach_mm=10.0, half_length_mm=0.0, marks_mm=0.0)
"""A stopped spline; habit, no source."""


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint on a line: its centre and the marks to strike beside it. [mm from the first finished end]"""

    centre_mm: float
    marks_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class JointLine:
    """The joints of one glue line.

    between: the places of its two staves, 0 first. y_mm: across the panel. joints: for biscuits and dowels.
    stretches: for a spline, where its groove may run. clear_of: what it had to keep from. notes: what gave.
    """

    between: tuple[int, int]
    y_mm: float
    joints: tuple[Joint, ...]
    stretches: tuple[Span, ...]
    clear_of: tuple[Span, ...]
    notes: tuple[str, ...]


def joint_layout(
    panel: MadePanel,
    boards: Mapping[str, Board],
    habits: JointHabits | None = None,
    later_cuts_mm: Sequence[float] = (),
) -> tuple[JointLine, ...]:
    """Where the joints go on every glue line of a made panel. [mm, panel frame, X from the finished end]

    boards: by id. later_cuts_mm: X of cuts to be made through the finished panel.
    """
    habits = habits or JointHabits()
    missing = sorted({stave.board for stave in panel.staves} - boards.keys())
    if missing:
        raise BadInput(
            "The joints cannot be laid out.", [Fault("boards", f"board {board}") for board in missing]
        )
    lines = []
    y = 0.0
    for place, (first, second) in enumerate(pairwise(panel.staves)):
        y += first.finished.width_mm
        length = first.finished.length_mm
        flaws = [*_flaws(first, boards, habits, high=True), *_flaws(second, boards, habits, high=False)]
        barred = barred_spans(length, flaws, later_cuts_mm, habits)
        lines.append(_line((place, place + 1), y, length, barred, habits))
    return tuple(lines)


def barred_spans(
    length_mm: float, flaws: Iterable[Span], later_cuts_mm: Iterable[float], habits: JointHabits
) -> tuple[Span, ...]:
    """Where no joint's centre may lie, merged and in order. [mm]"""
    half = habits.half_length_mm
    # A joint at an end keeps its centre end_clear away, and never less than its own half from daylight.
    end = max(habits.end_clear_mm, half + habits.cut_clear_mm)
    spans = [(float("-inf"), end), (length_mm - end, float("inf"))]
    spans += [(a - habits.defect_clear_mm - half, b + habits.defect_clear_mm + half) for a, b in flaws]
    spans += [(x - habits.cut_clear_mm - half, x + habits.cut_clear_mm + half) for x in later_cuts_mm]
    merged: list[Span] = []
    for a, b in sorted(spans):
        if merged and a < merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], b))
        else:
            merged.append((a, b))
    return tuple(merged)


def positions(length_mm: float, barred: Sequence[Span], habits: JointHabits) -> tuple[list[float], list[str]]:
    """Centres of joints at about the pitch, and what could not be had. [mm]

    Centres are spread evenly at no more than the pitch; one that would fall in a barred stretch goes to the
    nearest free place within half a pitch, and is left out when there is none.
    """
    if not (isfinite(habits.pitch_mm) and habits.pitch_mm > 2 * habits.half_length_mm):
        raise BadInput(
            "Joints would overlap.", [Fault("pitch", "more than a joint's length", f"{habits.pitch_mm:g}")]
        )
    free = [(b, c) for (_, b), (c, _) in pairwise(barred) if c >= b]
    if not free:
        return [], ["No place on this line is clear enough for a joint."]
    first, last = barred[0][1], barred[-1][0]
    count = max(2, ceil((last - first) / habits.pitch_mm - 1e-9) + 1) if last > first else 1
    step = (last - first) / (count - 1) if count > 1 else 0.0
    centres: list[float] = []
    notes = []
    for n in range(count):
        wanted = first + n * step
        nearest = min((min(max(wanted, a), b) for a, b in free), key=lambda x: abs(x - wanted))
        apart = 2 * habits.half_length_mm + habits.defect_clear_mm
        if abs(nearest - wanted) > habits.pitch_mm / 2 or (centres and nearest - centres[-1] < apart):
            notes.append(f"No joint near {wanted:.0f} mm: it is not clear there.")
        else:
            centres.append(nearest)
    return centres, notes


def _line(
    between: tuple[int, int], y_mm: float, length_mm: float, barred: tuple[Span, ...], habits: JointHabits
) -> JointLine:
    if habits.kind is JointKind.PLAIN:
        return JointLine(between, y_mm, (), (), barred, ())
    if habits.kind is JointKind.SPLINE:
        free = tuple((b, c) for (_, b), (c, _) in pairwise(barred) if c > b)
        notes = () if len(free) == 1 else ("The groove is stopped at flaws or later cuts.",)
        return JointLine(between, y_mm, (), free, barred, notes)
    centres, said = positions(length_mm, barred, habits)
    joints = tuple(Joint(c, (c - habits.marks_mm, c + habits.marks_mm)) for c in centres)
    return JointLine(between, y_mm, joints, (), barred, tuple(said))


def _flaws(stave: Stave, boards: Mapping[str, Board], habits: JointHabits, high: bool) -> Iterable[Span]:
    """Where flaws of a stave lie within a joint's reach of its glued edge, along the panel. [mm]"""
    depth = habits.reach_mm + habits.defect_clear_mm
    width = stave.finished.width_mm
    for defect in boards[stave.board].defects:
        for box in footprint(defect.outline):
            if not box.meets(stave.finished):
                continue
            corners = [
                stave_point(point, stave.finished, stave.show, stave.turned)
                for point in ((box.x0, box.y0), (box.x1, box.y1))
            ]
            (x0, x1), (y0, y1) = sorted(c[0] for c in corners), sorted(c[1] for c in corners)
            if (y1 > width - depth) if high else (y0 < depth):
                yield x0, x1
