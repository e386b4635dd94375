"""The boxes that stand for a defect: its outline sliced every 25 mm, each slice boxed outward to whole mm."""

from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from stockyard.timber import Outline, Window

SLICE_MM = 25


@lru_cache(maxsize=1 << 18)
def footprint(outline: Outline) -> tuple[Window, ...]:
    """The footprint of a simple polygon, one box for each slice it has area in, in x order. [mm]

    Slices lie between multiples of 25 mm of the board frame. Exact in the decimal coordinates given, so that
    a corner at 43.1 rounds out to 43 and a crossing at exactly 55 stays 55.
    """
    scale, corners = _whole(outline)
    width = SLICE_MM * scale
    lows: dict[int, tuple[int, int]] = {}  # by slice: least x and y, rounded down to mm
    highs: dict[int, tuple[int, int]] = {}  # by slice: greatest x and y, rounded up to mm
    for start, end in pairwise((*corners, corners[0])):
        (ax, ay), (bx, by) = sorted((start, end))
        if ax == bx:  # upright: its ends are reached by its neighbours
            continue
        run = (bx - ax) * scale
        for k in range(ax // width, -(-bx // width)):
            left, right = max(ax, k * width), min(bx, (k + 1) * width)
            # Where the edge stands at the slice's borders, as whole numbers over `run`.
            ends = (ay * (bx - ax) + (by - ay) * (left - ax), ay * (bx - ax) + (by - ay) * (right - ax))
            low, high = (left // scale, min(ends) // run), (-(-right // scale), -(-max(ends) // run))
            if k in lows:
                low = (min(low[0], lows[k][0]), min(low[1], lows[k][1]))
                high = (max(high[0], highs[k][0]), max(high[1], highs[k][1]))
            lows[k], highs[k] = low, high
    return tuple(Window(*lows[k], *highs[k]) for k in sorted(lows) if lows[k][1] < highs[k][1])


def length_along_x(boxes: Iterable[Window]) -> int:
    """The length along x of the box around a footprint. [mm]"""
    boxes = tuple(boxes)
    return max(box.x1 for box in boxes) - min(box.x0 for box in boxes)


def _whole(outline: Outline) -> tuple[int, list[tuple[int, int]]]:
    """The corners as whole numbers of a unit, and how many of it are a mm."""
    if all(x == int(x) and y == int(y) for x, y in outline):
        return 1, [(int(x), int(y)) for x, y in outline]
    # Through the shortest decimal that reads back the same: 43.1 means 431/10, not the nearest binary.
    exact = [(Decimal(str(x)), Decimal(str(y))) for x, y in outline]
    digits = max(0, *(-int(value.as_tuple().exponent) for point in exact for value in point))
    return 10**digits, [(int(x.scaleb(digits)), int(y.scaleb(digits))) for x, y in exact]
