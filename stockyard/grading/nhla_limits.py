"""What FAS limits besides the yield: pith, wane, knots and holes, splits, and the first foot of each end.

Source: the chart named in tables/nhla.csv (read). Where it is silent this is settled here: wane along both
edges is added up; a knot's diameter is the mean of its sizes along and across; splits are added up.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from stockyard.grading.cuttings import Box, covered_area
from stockyard.grading.marked import FOOT, INCH, Mark, MarkedBoard
from stockyard.timber import DefectKind, Face

KNOTS = frozenset({DefectKind.SOUND_KNOT, DefectKind.UNSOUND_KNOT, DefectKind.BORER_HOLE})
UNSOUND = frozenset(
    {
        DefectKind.UNSOUND_KNOT,
        DefectKind.BORER_HOLE,
        DefectKind.DECAY,
        DefectKind.PITH,
        DefectKind.SHAKE,
        DefectKind.WANE,
        DefectKind.SPLIT,
        DefectKind.CRACK,
        DefectKind.BARK_INCLUSION,
        DefectKind.GUM_POCKET,
    }
)


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One thing that a grade asks for and a board lacks, and the ids of the defects that decide it."""

    why: str
    defects: tuple[str, ...] = ()


def fas_shortfalls(board: MarkedBoard, face: Face, surface_measure: int) -> tuple[Shortfall, ...]:
    """Every limit of FAS that a face passes, worst first in the order of the chart."""
    checks = (
        _pith(board, face, surface_measure),
        _wane(board, face),
        *_knots(board, face, surface_measure),
        *_splits(board, face, surface_measure),
        *_first_feet(board, face),
    )
    return tuple(check for check in checks if check is not None)


def _pith(board: MarkedBoard, face: Face, sm: int) -> Shortfall | None:
    marks = board.on(face, {DefectKind.PITH})
    length = sum(mark.length for mark in marks)
    if length <= sm * INCH:
        return None
    return Shortfall(f"face {face} has {length / INCH:.1f} in of pith, {sm} in allowed", _ids(marks))


def _wane(board: MarkedBoard, face: Face) -> Shortfall | None:
    marks = board.on(face, {DefectKind.WANE})
    length = sum(mark.length for mark in marks)
    if 2 * length <= board.length:
        return None
    return Shortfall(
        f"face {face} has wane along {length / FOOT:.1f} ft,"
        f" {board.length / 2 / FOOT:.1f} ft (half the length) allowed",
        _ids(marks),
    )


def _knots(board: MarkedBoard, face: Face, sm: int) -> Iterable[Shortfall]:
    for mark in board.on(face, KNOTS):
        # Average diameter above SM/3 in, in whole units: (l + w)/2 > SM INCH/3.
        if 3 * (mark.length + mark.width) > 2 * sm * INCH:
            diameter = (mark.length + mark.width) / 2 / INCH
            yield Shortfall(
                f"face {face}: the {mark.words} {mark.defect.id} is {diameter:.2f} in across,"
                f" {sm / 3:.2f} in allowed",
                (mark.defect.id,),
            )


def _splits(board: MarkedBoard, face: Face, sm: int) -> Iterable[Shortfall]:
    marks = board.on(face, {DefectKind.SPLIT})
    length, allowed = sum(mark.length for mark in marks), max(2 * sm, 12)
    if length > allowed * INCH:
        yield Shortfall(f"face {face} is split for {length / INCH:.1f} in, {allowed} in allowed", _ids(marks))
    for mark in marks:
        if mark.width * FOOT > INCH * mark.length:
            yield Shortfall(
                f"the split {mark.defect.id} runs off by {mark.width / INCH:.2f} in over"
                f" {mark.length / INCH:.1f} in, 1 in to the foot allowed",
                (mark.defect.id,),
            )


def _first_feet(board: MarkedBoard, face: Face) -> Iterable[Shortfall]:
    for end, x0, x1 in ((1, 0, FOOT), (2, board.length - FOOT, board.length)):
        inside = [
            (mark, _part(box, x0, x1, board.width))
            for mark in board.on(face, UNSOUND)
            for box in mark.boxes
            if box[0] < x1 and box[2] > x0
        ]
        unsound = covered_area([part for _, part in inside])
        if 4 * unsound > FOOT * board.width:
            share = unsound / (FOOT * board.width)
            yield Shortfall(
                f"the first foot of end {end} is {share:.0%} unsound on face {face}, 25 % allowed",
                _ids(mark for mark, _ in inside),
            )


def _part(box: Box, x0: int, x1: int, width: int) -> Box:
    return (max(box[0], x0), max(box[1], 0), min(box[2], x1), min(box[3], width))


def _ids(marks: Iterable[Mark]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(mark.defect.id for mark in marks))
