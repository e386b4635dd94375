"""What a piece cut from a board takes along: its part of each defect, and of the board's bend."""

from collections.abc import Iterable
from dataclasses import replace

from stockyard.timber import Defect, Distortion, Window

SLIVER_MM2 = 1e-3
"""Parts smaller than this are rounding, not defects."""


def defects_of_piece(defects: Iterable[Defect], window: Window) -> tuple[Defect, ...]:
    """The defects of the piece cut from `window`, outlined in its own frame; its corner is the new (0, 0).

    Each is the part of its parent inside the window. A bent one may fall into several parts; they are then
    numbered after their parent ("SG-0017/1.1", "SG-0017/1.2"). A defect of face B stays described in face A's
    frame. Corners are to a thousandth of a millimetre.
    """
    return tuple(part for defect in defects for part in clipped_defect(defect, window))


def clipped_defect(defect: Defect, window: Window) -> tuple[Defect, ...]:
    """The parts of one defect inside `window`, in the window's frame, from low x to high. [mm]"""
    if all(window.x0 <= x <= window.x1 and window.y0 <= y <= window.y1 for x, y in defect.outline):
        moved = tuple((round(x - window.x0, 3), round(y - window.y0, 3)) for x, y in defect.outline)
        return (replace(defect, outline=moved),)
    from shapely import Polygon, box

    inside = Polygon(defect.outline).intersection(box(window.x0, window.y0, window.x1, window.y1))
    parts = sorted(
        (part for part in getattr(inside, "geoms", [inside]) if part.area > SLIVER_MM2),
        key=lambda part: part.bounds,
    )
    outlines = [
        tuple((round(x - window.x0, 3), round(y - window.y0, 3)) for x, y in part.exterior.coords[:-1])
        for part in parts
    ]
    if len(outlines) == 1:
        return (replace(defect, outline=outlines[0]),)
    return tuple(
        replace(defect, id=f"{defect.id}.{number}", outline=outline)
        for number, outline in enumerate(outlines, start=1)
    )


def distortion_of_piece(
    distortion: Distortion, length_mm: float, width_mm: float, piece_length_mm: float, piece_width_mm: float
) -> Distortion:
    """The distortion of a smaller piece of a board, its curvature taken as constant. [mm]

    Bow and spring fall with the square of the length, cup with the square of the width, twist with both.
    length_mm, width_mm: the board's, > 0.
    Source: sagitta of an arc, d = L^2 / (8 R).
    """
    along, across = piece_length_mm / length_mm, piece_width_mm / width_mm
    return Distortion(
        bow_mm=distortion.bow_mm * along**2,
        spring_mm=distortion.spring_mm * along**2,
        cup_mm=distortion.cup_mm * across**2,
        twist_mm=distortion.twist_mm * along * across,
    )
