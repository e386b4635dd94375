"""One face of a board on the page: its outline, its defects by hatching and key, its names, its ruler."""

from collections.abc import Sequence

from stockyard.drawings.callouts import Callout, callout_tiers, callouts_over
from stockyard.drawings.kinds import HATCH_OF, span, spoken
from stockyard.drawings.lettering import width_mm
from stockyard.drawings.scales import View, corners
from stockyard.drawings.sheet import (
    FINE,
    HAIR,
    LINE,
    SOFT,
    TIMBER,
    Group,
    Line,
    Mark,
    Pen,
    Shape,
    Words,
)
from stockyard.timber import Board, Defect, Face

RULER_MM = 6.5
GUTTER_MM = 13.0  # beside a face, for the names of its ends and edges
_HIDDEN = Pen(0.25, dash_mm=(1.0, 0.6))

Keyed = Sequence[tuple[str, Defect]]


def on_face(keyed: Keyed, face: Face) -> list[tuple[str, Defect]]:
    """Those that show on `face`, through ones included."""
    return [(key, defect) for key, defect in keyed if defect.through or defect.face is face]


def body(board: Board, view: View) -> Shape:
    """The board's outline."""
    return Shape(view.outline(corners(0, 0, board.length_mm, board.width_mm)), LINE, TIMBER)


def defect_mark(key: str, defect: Defect, view: View, hidden: bool = False) -> Group:
    """One defect in place. hidden: it lies on the far face, so its outline is dashed and not hatched."""
    outline = view.outline(defect.outline)
    shape = Shape(outline, _HIDDEN) if hidden else Shape(outline, Pen(0.18), "#ffffff", HATCH_OF[defect.kind])
    return Group("defect", defect.id, (shape,), f"{key}: {spoken(defect)}")


def tiers_over(keyed: Keyed, room_mm: float) -> int:
    """How many rows of keys stand over a face that is `room_mm` of paper long."""
    return callout_tiers([key for key, _ in keyed], room_mm)


def keys_over(keyed: Keyed, view: View, board: Board) -> list[Mark]:
    """The keys of a face's defects in rows over it."""
    left, top = view.at((0, board.width_mm))
    right, _ = view.at((board.length_mm, 0))
    return callouts_over([Callout(key, _anchor(defect, view)) for key, defect in keyed], left, right, top)


def side_names(board: Board, view: View) -> list[Mark]:
    """The names of its ends and edges, in the gutters beside it."""
    left, foot = view.at((0, 0))
    right, head = view.at((board.length_mm, board.width_mm))
    middle = (foot + head) / 2 + 0.9
    marks: list[Mark] = [
        Words(left - 1.5, middle, "end 1", 2.8, "end", bold=True),
        Words(right + 1.5, middle, "end 2", 2.8, bold=True),
    ]
    clear = max(0.0, 6.4 - (foot - head)) / 2
    marks += [
        Words(left - 1.5, head - clear + 0.6, "edge 2", 2.3, "end", colour=SOFT),
        Words(left - 1.5, foot + clear + 1.2, "edge 1", 2.3, "end", colour=SOFT),
        Words(right + 1.5, head - clear + 0.6, f"{board.width_mm:g} wide", 2.3, colour=SOFT),
    ]
    return marks


def ruler(board: Board, view: View) -> list[Mark]:
    """Millimetres from end 1, along the foot of the face."""
    left, foot = view.at((0, 0))
    right, _ = view.at((board.length_mm, 0))
    step = next(s for s in (50, 100, 200, 500, 1000, 2000, 5000) if s / view.scale >= 11)
    fine = step // 5 if step // 5 / view.scale >= 1.2 else step // 2
    top = foot + 1.0
    marks: list[Mark] = [Line(((left, top), (right, top)), HAIR)]
    for x in range(0, int(board.length_mm) + 1, fine):
        at, _ = view.at((x, 0))
        marks.append(Line(((at, top), (at, top + (1.6 if x % step == 0 else 0.8))), HAIR))
    last, _ = view.at((board.length_mm, 0))
    marks.append(Line(((last, top), (last, top + 1.6)), FINE))
    length = f"{board.length_mm:g}"
    for x in range(0, int(board.length_mm) + 1, step):
        at, _ = view.at((x, 0))
        if last - at < width_mm(length, 2.4) / 2 + width_mm(str(x), 2.4) / 2 + 1 and x != board.length_mm:
            continue
        if x != board.length_mm:
            marks.append(Words(at, top + 4.0, str(x), 2.4, "middle", colour=SOFT))
    marks.append(Words(last, top + 4.0, length, 2.4, "middle", bold=True))
    return marks


def _anchor(defect: Defect, view: View) -> tuple[float, float]:
    x0, _, x1, y1 = span(defect)
    return view.at(((x0 + x1) / 2, _top_at(defect, (x0 + x1) / 2, y1)))


def _top_at(defect: Defect, x: float, highest: float) -> float:
    """The uppermost point of the outline above x: a slanting crack is not met at its box's corner."""
    corners_of = defect.outline
    ys = [
        ay + (by - ay) * (x - ax) / (bx - ax)
        for (ax, ay), (bx, by) in zip(corners_of, corners_of[1:] + corners_of[:1], strict=True)
        if ax != bx and min(ax, bx) <= x <= max(ax, bx)
    ]
    return max(ys, default=highest)
