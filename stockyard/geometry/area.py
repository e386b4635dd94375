"""Areas of boxes on the whole-millimetre grid, overlaps counted once."""

from collections.abc import Collection, Iterable
from itertools import pairwise
from math import floor

from stockyard.geometry.footprint import footprint
from stockyard.timber import Board, DefectKind, Window


def clip(box: Window, region: Window) -> Window | None:
    """The part of `box` inside `region`, or None when they share no area."""
    if not box.meets(region):
        return None
    return Window(
        max(box.x0, region.x0),
        max(box.y0, region.y0),
        min(box.x1, region.x1),
        min(box.y1, region.y1),
    )


def covered_area(boxes: Iterable[Window], region: Window) -> int:
    """The area of `region` that the boxes cover together. [mm2]"""
    inside = [part for box in boxes if (part := clip(box, region))]
    xs = sorted({x for box in inside for x in (box.x0, box.x1)})
    area = 0
    for left, right in pairwise(xs):
        reached = region.y0  # everything below is counted or clear
        for low, high in sorted((b.y0, b.y1) for b in inside if b.x0 <= left and right <= b.x1):
            area += max(0, high - max(low, reached)) * (right - left)
            reached = max(reached, high)
    return area


def clear_area(boxes: Iterable[Window], region: Window) -> int:
    """The area of `region` that no box covers. [mm2]"""
    return region.area_mm2 - covered_area(boxes, region)


def board_clear_area(board: Board, kinds: Collection[DefectKind] = frozenset(DefectKind)) -> int:
    """The area of a board, in whole mm of length and width, that no defect of these kinds covers. [mm2]

    Defects of both faces count, as seen through the board; all kinds unless told which.
    """
    boxes = (box for defect in board.defects if defect.kind in kinds for box in footprint(defect.outline))
    return clear_area(boxes, Window(0, 0, floor(board.length_mm), floor(board.width_mm)))
