"""Is an outline one that a defect can have: a simple polygon with an area, lying on its board?

shapely judges what is simple; it is loaded only once an outline cannot be seen to be so at a glance.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from stockyard.errors import Fault
from stockyard.timber import Outline, Point


def outline_faults(
    outline: Outline, length_mm: float, width_mm: float, where: str = "outline"
) -> tuple[Fault, ...]:
    """Everything that keeps `outline` from being a defect's on a board of this size, each with its point.

    outline: points in the board frame, finite. [mm]
    """
    if len(outline) < 3:
        return (Fault(where, "at least 3 points", f"{len(outline)}"),)
    off = tuple(_points_off_the_board(outline, length_mm, width_mm, where))
    return off or tuple(_shape_faults(outline, where))


def faulty_shapes(outlines: Sequence[Outline]) -> list[int]:
    """The indices of those outlines that cross or touch themselves, or have no area.

    Thousands at a time: plain triangles and convex quadrilaterals are passed at a glance, shapely judges the
    others together. outlines: at least 3 points each, finite. [mm]
    """
    doubtful = [index for index, outline in enumerate(outlines) if not _plainly_convex(outline)]
    if not doubtful:
        return []
    import shapely

    rings = shapely.linearrings(
        [point for index in doubtful for point in outlines[index]],
        indices=[n for n, index in enumerate(doubtful) for _ in outlines[index]],
    )
    polygons = shapely.polygons(rings)
    sound = shapely.is_valid(polygons) & (shapely.area(polygons) > 0)
    return [index for index, good in zip(doubtful, sound, strict=True) if not good]


def sound_outline(outline: Outline, length_mm: float, width_mm: float) -> Outline | None:
    """The outline nearest to a drawn one that a defect on a board of this size can have; None where none is.

    outline: at least 3 points, finite. What lies off the board is cut off; of an outline that crosses itself
    the largest part stays. Corners are to a hundredth of a millimetre. [mm]
    """
    from shapely import Polygon, box, make_valid, set_precision

    drawn = make_valid(Polygon(outline)).intersection(box(0, 0, length_mm, width_mm))
    parts = [part for part in getattr(drawn, "geoms", [drawn]) if part.geom_type == "Polygon"]
    if not parts:
        return None
    whole = set_precision(max(parts, key=lambda part: part.area), 0.01)
    parts = [part for part in getattr(whole, "geoms", [whole]) if part.geom_type == "Polygon" and part.area]
    if not parts:
        return None
    ring = max(parts, key=lambda part: part.area).exterior.coords[:-1]
    # A size that is no whole hundredth of a millimetre may have been rounded up to.
    corners = tuple((min(round(x, 2), length_mm), min(round(y, 2), width_mm)) for x, y in ring)
    return None if outline_faults(corners, length_mm, width_mm) else corners


def _points_off_the_board(outline: Outline, length_mm: float, width_mm: float, where: str) -> Iterator[Fault]:
    for number, (x, y) in enumerate(outline):
        if not (0 <= x <= length_mm and 0 <= y <= width_mm):
            expected = f"a point on the board, x 0 to {length_mm:g}, y 0 to {width_mm:g}"
            yield Fault(f"{where}[{number}]", expected, _seen((x, y)))


def _shape_faults(outline: Outline, where: str) -> Iterator[Fault]:
    if not faulty_shapes([outline]):
        return
    from shapely import MultiPoint
    from shapely.validation import explain_validity

    if MultiPoint(outline).minimum_rotated_rectangle.area == 0:
        number = next((n for n, (a, b) in enumerate(pairwise(outline), start=1) if a == b), 0)
        yield Fault(where, "an outline with an area", f"all points in one line from {_seen(outline[number])}")
        return
    from shapely import Polygon

    # "Self-intersection[50 40]": the words are the library's, the place is what a person needs.
    place = explain_validity(Polygon(outline)).partition("[")[2].rstrip("]").split()
    crossing = _seen((float(place[0]), float(place[1]))) if len(place) >= 2 else _seen(outline[0])
    yield Fault(where, "an outline that does not cross or touch itself", f"it does at {crossing}")


def _plainly_convex(outline: Outline) -> bool:
    """Is it a triangle, or four corners that all turn the same way? (More corners could wind twice.)"""
    if len(outline) == 4:
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = outline
        at_b = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        at_c = (cx - bx) * (dy - cy) - (cy - by) * (dx - cx)
        at_d = (dx - cx) * (ay - dy) - (dy - cy) * (ax - dx)
        at_a = (ax - dx) * (by - ay) - (ay - dy) * (bx - ax)
        if at_b > 0:
            return at_c > 0 and at_d > 0 and at_a > 0
        return at_b < 0 and at_c < 0 and at_d < 0 and at_a < 0
    if len(outline) == 3:
        (ax, ay), (bx, by), (cx, cy) = outline
        return (bx - ax) * (cy - by) != (by - ay) * (cx - bx)
    return False


def _seen(point: Point) -> str:
    return f"({point[0]:g}, {point[1]:g})"
