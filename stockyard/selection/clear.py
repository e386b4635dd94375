"""Clear area of a board along x or across y: what offcuts are credited for."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from stockyard.geometry.area import clear_area
from stockyard.selection.instance import Box
from stockyard.timber import Window


@dataclass(frozen=True, slots=True)
class Profile:
    """Clear area up to a place, piecewise linear between `knots`. [mm2 up to mm]"""

    knots: tuple[int, ...]
    areas: tuple[int, ...]

    def pieces(self, low: int, high: int) -> list[tuple[int, int]]:
        """[low, high] cut at the knots inside it."""
        cuts = [low, *(knot for knot in self.knots if low < knot < high), high]
        return list(pairwise(cuts)) if low < high else [(low, high)]


def across(blots: Sequence[Box], x0: int, x1: int, width: int) -> Profile:
    """Clear area of the strip [x0, x1] of a board from y = 0 up."""
    inside = [Window(*box) for box in blots if box[0] < x1 and box[2] > x0]
    knots = sorted({0, width} | {y for box in inside for y in (box.y0, box.y1) if 0 < y < width})
    areas = [clear_area(inside, Window(x0, 0, x1, y)) if y else 0 for y in knots]
    return Profile(tuple(knots), tuple(areas))


def along(blots: Sequence[Box], length: int, width: int) -> Profile:
    """Clear area of a whole board from x = 0 on."""
    inside = [Window(*box) for box in blots]
    knots = sorted({0, length} | {x for box in inside for x in (box.x0, box.x1) if 0 < x < length})
    areas = [clear_area(inside, Window(0, 0, x, width)) if x else 0 for x in knots]
    return Profile(tuple(knots), tuple(areas))
