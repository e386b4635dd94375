"""From the board's frame to the panel's: how a stave's points lie once it is laid."""

from stockyard.timber import Face, Point, Window


def stave_point(point: Point, window: Window, show: Face, turned: bool) -> Point:
    """A board point as (X, Y) within the stave cut from `window`, shown and turned so. [mm]

    window: the stave's window in the board frame. X is measured from the panel's first end, Y from the
    stave's own edge on the panel's low side.
    """
    x, y = point
    along = window.x1 - x if turned else x - window.x0
    across = window.y1 - y if upside_down(show, turned) else y - window.y0
    return along, across


def upside_down(show: Face, turned: bool) -> bool:
    """Does the board's low-y edge lie on the panel's high-Y side?

    Turning the board over swaps its edges, and so does turning it end for end; both together do not.
    """
    return (show is Face.B) != turned
