"""The boxes that stand for a defect: its outline sliced every 25 mm, each slice boxed outward to whole mm."""

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor

from stockyard.timber import Outline, Window

SLICE_MM = 25


@lru_cache(maxsize=65536)
def footprint(outline: Outline) -> tuple[Window, ...]:
    """The footprint of a simple polygon, one box for each slice it has area in, in x order. [mm]

    Slices lie between multiples of 25 mm of the board frame. Computed in exact fractions of the decimal
    coordinates given, so that a corner at 43.1 rounds out to 43 and a crossing at exactly 55 stays 55.
    """
    corners = [(_fraction(x), _fraction(y)) for x, y in outline]
    first = floor(min(x for x, _ in corners) / SLICE_MM)
    last = ceil(max(x for x, _ in corners) / SLICE_MM)
    boxes = (
        _slice_box(corners, Fraction(SLICE_MM * k), Fraction(SLICE_MM * (k + 1))) for k in range(first, last)
    )
    return tuple(box for box in boxes if box is not None)


def length_along_x(boxes: Iterable[Window]) -> int:
    """The length along x of the box around a footprint. [mm]"""
    boxes = tuple(boxes)
    return max(box.x1 for box in boxes) - min(box.x0 for box in boxes)


def _fraction(value: float) -> Fraction:
    # Through the shortest decimal that reads back the same: 43.1 means 431/10, not the nearest binary.
    return Fraction(str(value))


def _slice_box(corners: list[tuple[Fraction, Fraction]], left: Fraction, right: Fraction) -> Window | None:
    """The box around what the polygon covers from x = left to x = right; None if it has no area there."""
    xs: list[Fraction] = []
    ys: list[Fraction] = []
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        lo, hi = max(min(ax, bx), left), min(max(ax, bx), right)
        if lo >= hi:  # upright, or outside: its ends are reached by its neighbours
            continue
        for x in (lo, hi):
            xs.append(x)
            ys.append(ay + (by - ay) * (x - ax) / (bx - ax))
    if not xs or min(ys) == max(ys):
        return None
    return Window(floor(min(xs)), floor(min(ys)), ceil(max(xs)), ceil(max(ys)))
