"""A crack drawn as a line, with how far it gapes, as an outline."""

from collections.abc import Sequence
from itertools import pairwise
from math import isfinite

from stockyard.errors import BadInput, Fault
from stockyard.geometry.outline import outline_faults
from stockyard.timber import Outline, Point

HAIRLINE_MM = 0.1
"""The gap given to a crack too fine to measure, so that it has an area. A working choice with no source: its
footprint is rounded out to whole millimetres anyway."""


def crack_outline(
    line: Sequence[Point], opening_mm: float | None, length_mm: float, width_mm: float, where: str = "line"
) -> Outline:
    """The outline of a crack that runs along `line` and gapes `opening_mm` all the way. [mm, board frame]

    line: at least two different points on the board. opening_mm: 0 or more; None and 0 mean a hairline. What
    would reach over the board's edge is cut off there. Corners are to a thousandth of a millimetre.
    Raises BadInput when the line leaves the board, has no length or crosses itself.
    """
    from shapely import LineString, box

    faults = [
        Fault(
            f"{where}[{number}]",
            f"a point on the board, x 0 to {length_mm:g}, y 0 to {width_mm:g}",
            f"({x:g}, {y:g})",
        )
        for number, (x, y) in enumerate(line)
        if not (0 <= x <= length_mm and 0 <= y <= width_mm)
    ]
    if len(line) < 2 or all(a == b for a, b in pairwise(line)):
        faults.append(Fault(where, "at least two different points", f"{len(line)}"))
    if opening_mm is not None and not (isfinite(opening_mm) and 0 <= opening_mm <= width_mm):
        faults.append(Fault("opening", f"0 to {width_mm:g} mm", f"{opening_mm:g}"))
    if not faults and not LineString(line).is_simple:
        faults.append(Fault(where, "a line that does not cross itself", "one that does"))
    if faults:
        raise BadInput("The crack cannot be drawn.", faults)

    gap = LineString(line).buffer(
        max(opening_mm or 0, HAIRLINE_MM) / 2, cap_style="flat", join_style="mitre", mitre_limit=2
    )
    # Only the outer ring: where a bend closes on itself the wood between is no sounder than the crack.
    ring = gap.intersection(box(0, 0, length_mm, width_mm))
    ring = max(getattr(ring, "geoms", [ring]), key=lambda part: part.area)
    outline = tuple((round(x, 3), round(y, 3)) for x, y in ring.exterior.coords[:-1])
    left = outline_faults(outline, length_mm, width_mm, where)
    if left:
        raise BadInput("The crack cannot be drawn.", left)
    return outline
