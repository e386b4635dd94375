"""The part of an outline inside a rectangle."""

from stockyard.timber import Outline, Window


def clipped(outline: Outline, window: Window) -> list[Outline]:
    """The parts of a simple polygon inside a window, largest first; empty when they share no area. [mm]"""
    # Loaded here: geometry libraries are slow to load and most drawings need no clipping.
    from shapely import clip_by_rect
    from shapely.geometry import Polygon

    met = clip_by_rect(Polygon(outline), window.x0, window.y0, window.x1, window.y1)
    polygons = [
        part for part in getattr(met, "geoms", [met]) if part.geom_type == "Polygon" and part.area > 0
    ]
    polygons.sort(key=lambda part: -part.area)
    return [tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1]) for part in polygons]
