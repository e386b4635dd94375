"""A board found in a photograph: the four sides of its face against the bench."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from stockyard.errors import BadInput
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2
from stockyard.photos.plane import Points, four_point_map, shown_ratio

_WORK_PX = 500
_STANDS_OUT = 5.0  # spreads of the bench's own colour
_SAMPLES = 160
_REACH = (
    0.2  # of the board's width in the picture: a shadow and a side seen make a rough outline so much wider
)
_MOST_SLANT_PX = 48
_FAINT_SHARE = 0.15  # of the strongest line, for one to be considered at all
_WEAK_COSTS = 0.04  # a line of no strength counts like this much of misfit in proportions
_INNER_SHARE = 0.85  # of the strongest line, for the innermost one to be taken for the face's own edge


@dataclass(frozen=True, slots=True)
class BoardOutline:
    """The face's outline in a picture.

    corners_px: (4, 2) (column, row), clockwise in the picture, from one end's first corner: sides 0 and 2 are
    the long ones. sides_px: points measured on each side, (n, 2). blur_px: spread of the edges, as of a
    Gaussian. long_choices: every line that side 0, and side 2, might be, as points.
    """

    corners_px: Points
    sides_px: tuple[Points, Points, Points, Points]
    blur_px: float
    long_choices: tuple[tuple[Points, ...], tuple[Points, ...]] = ((), ())


@dataclass(frozen=True, slots=True)
class _Edge:
    """A straight edge that a side may be. strength: of the strongest near it, 0..1."""

    points: Points
    line: Points
    strength: float
    blur_px: float


def _innermost(edges: list[_Edge]) -> _Edge:
    return next((edge for edge in edges if edge.strength >= _INNER_SHARE), edges[0])


def find_outline(
    pixels: Pixels,
    covers: Sequence[Points] = (),
    whole: bool = True,
    size_mm: tuple[float, float] | None = None,
    focal_35mm: float | None = None,
) -> BoardOutline:
    """Find the one board in an RGB picture, whole, on a bench of another colour.

    covers: (4, 2) px outlines of what lies on the face and has edges of its own (cards). whole: all of the
    board must show; otherwise an end may run out of the picture, and its side then has no points.
    size_mm: (length, width) if known; focal_35mm: of the lens if known; of several lines that could be a long
    edge, such as the arris and the foot of the board's side, those of fitting proportions are then taken.
    Raises BadInput where there is none, more than one, only a part of one, or something of another shape.
    """
    return refine_outline(pixels, rough_corners(pixels, whole), covers, size_mm, focal_35mm)


def refine_outline(
    pixels: Pixels,
    rough: Points,
    covers: Sequence[Points] = (),
    size_mm: tuple[float, float] | None = None,
    focal_35mm: float | None = None,
) -> BoardOutline:
    """Move the sides of a rough outline onto the face's own edges. rough: (4, 2) px, clockwise."""
    free = np.ones(pixels.shape[:2], np.uint8)
    for cover in covers:
        cv2.fillConvexPoly(free, np.round(cover).astype(np.int32), 0)
    rough = long_side_first(rough)
    width_px = float(np.linalg.norm(rough[2] - rough[1]) + np.linalg.norm(rough[0] - rough[3])) / 2
    reach = int(np.clip(_REACH * width_px, 6, 110))
    rows, columns = pixels.shape[:2]
    choices: list[list[_Edge]] = []
    for k in range(4):
        a, b = rough[k], rough[(k + 1) % 4]
        middle = (a + b) / 2
        # A side as near to the rim as this is where the picture stops, not where the board does.
        if k % 2 and min(*middle, columns - 1 - middle[0], rows - 1 - middle[1]) < 0.012 * max(rows, columns):
            choices.append([_Edge(np.zeros((0, 2)), _line(np.array([a, b])), 1.0, 0.0)])
        else:
            choices.append(_edges(pixels, free, a, b, reach))
    edges = [_innermost(some) for some in choices]
    if size_mm is not None:
        fits = []
        for first, second in product(choices[0], choices[2]):
            tried = [first, edges[1], second, edges[3]]
            corners = np.array([_meet(tried[k - 1].line, tried[k].line) for k in range(4)])
            length, width = size_mm
            board = np.array([(0, width), (length, width), (length, 0), (0, 0)], float)
            ratio = shown_ratio(four_point_map(corners, board, pixels.shape), focal_35mm)
            weak = 2 - first.strength - second.strength
            fits.append((abs(np.log(ratio)) + _WEAK_COSTS * weak, tried))
        edges = min(fits, key=lambda fit: fit[0])[1]
    corners = np.array([_meet(edges[k - 1].line, edges[k].line) for k in range(4)])
    sides = [edge.points for edge in edges]
    # One sharp side of the two shows that the lens was sharp: the other may be a double edge.
    pairs = [[edge.blur_px for edge in edges[k::2] if len(edge.points)] for k in (0, 1)]
    blur = max((min(pair) for pair in pairs if pair), default=0.0)
    choose = tuple(edge.points for edge in choices[0]), tuple(edge.points for edge in choices[2])
    return BoardOutline(corners, (sides[0], sides[1], sides[2], sides[3]), blur, choose)


def rough_corners(pixels: Pixels, whole: bool) -> Points:
    """About where the one board's corners lie, (4, 2) px, clockwise; raises BadInput as find_outline does."""
    shrink = min(1.0, _WORK_PX / max(pixels.shape[:2]))
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), 1.2).astype(np.float32) / 255
    unlike = _unlike_the_rim(np.asarray(cv2.cvtColor(soft, cv2.COLOR_RGB2Lab), np.float32))
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    stands_out = cv2.morphologyEx(unlike, cv2.MORPH_OPEN, kernel)
    stands_out = cv2.morphologyEx(stands_out, cv2.MORPH_CLOSE, kernel)
    count, names, stats, _ = cv2.connectedComponentsWithStats(stands_out, connectivity=8)
    order = [int(k) + 1 for k in np.argsort(-stats[1:, cv2.CC_STAT_AREA])] if count > 1 else []
    area = stands_out.size
    order = [k for k in order if stats[k, cv2.CC_STAT_AREA] > 0.01 * area]
    if not order:
        raise BadInput(
            "No board stands out in the picture; lay it on a bench of another colour, take it whole, "
            "lay marker cards on it, or give its four corners."
        )
    if len(order) > 1 and stats[order[1], cv2.CC_STAT_AREA] > 0.35 * stats[order[0], cv2.CC_STAT_AREA]:
        raise BadInput("There seem to be two boards in the picture; photograph one at a time.")
    shape = (names == order[0]).astype(np.uint8)
    left, top, wide, high, filled = (int(v) for v in stats[order[0]])
    touches = [left <= 1, top <= 1, left + wide >= shape.shape[1] - 1, top + high >= shape.shape[0] - 1]
    contours, _ = cv2.findContours(shape, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=cv2.contourArea)
    box = cv2.boxPoints(cv2.minAreaRect(contour)).astype(np.float64)
    sizes = np.linalg.norm(box[1] - box[0]), np.linalg.norm(box[2] - box[1])
    if filled < 0.75 * sizes[0] * sizes[1]:
        raise BadInput(
            "What stands out in the picture has not the shape of a board; photograph one board, whole, from "
            "above, or give its four corners."
        )
    if whole and any(touches):
        raise BadInput(
            "The board runs out of the picture; step back until all of it shows with bench around it, or "
            "take it in several pictures with station cards."
        )
    return np.asarray((_quad(contour.reshape(-1, 2).astype(np.float64), box) + 0.5) / shrink - 0.5)


def _unlike_the_rim(lab: npt.NDArray[np.float32]) -> npt.NDArray[np.uint8]:
    """255 where the colour is not the bench's, as the picture's rim shows it, light varying slowly."""
    height, width = lab.shape[:2]
    v, u = np.mgrid[0:height, 0:width].astype(np.float32)
    u, v = u / width - 0.5, v / height - 0.5
    terms = np.dstack([np.ones_like(u), u, v, u * u, v * v, u * v]).reshape(-1, 6)
    deep = max(3, round(0.05 * min(height, width)))
    rim = np.ones((height, width), bool)
    rim[deep:-deep, deep:-deep] = False
    seen, place = lab[rim][::3], terms.reshape(height, width, 6)[rim][::3]
    keep = np.ones(len(seen), bool)
    for _ in range(4):
        fit, *_ = np.linalg.lstsq(place[keep], seen[keep], rcond=None)
        off = seen - place @ fit
        spread = np.maximum(1.48 * np.median(np.abs(off[keep]), axis=0), (1.6, 0.9, 0.9)).astype(np.float32)
        # A board that runs to the rim, and what else lies there, is not the bench.
        keep = ((off / spread) ** 2).mean(axis=1) < 9
        if keep.sum() < 60:
            break
    far = np.sqrt((((lab.reshape(-1, 3) - terms @ fit) / spread) ** 2).mean(axis=1))
    return np.asarray((far > _STANDS_OUT).reshape(height, width), np.uint8) * 255


def _quad(contour: Points, box: Points) -> Points:
    """The four corners of straight sides laid through a contour that is nearly a rectangle."""
    box = long_side_first(_clockwise(box))
    lines = []
    depth = min(np.linalg.norm(box[1] - box[0]), np.linalg.norm(box[2] - box[1]))
    for k in range(4):
        a, b = box[k], box[(k + 1) % 4]
        along = (b - a) / np.linalg.norm(b - a)
        across = np.array([-along[1], along[0]])
        place = (contour - a) @ along / np.linalg.norm(b - a)
        off = np.abs((contour - a) @ across)
        own = contour[(place > 0.12) & (place < 0.88) & (off < 0.25 * depth)]
        lines.append(_line(own if len(own) >= 4 else np.array([a, b])))
    return np.asarray([_meet(lines[k - 1], lines[k]) for k in range(4)], np.float64)


def _clockwise(corners: Points) -> Points:
    around = corners - corners.mean(axis=0)
    return corners[np.argsort(np.arctan2(around[:, 1], around[:, 0]))]


def long_side_first(corners: Points) -> Points:
    """Four corners around a shape, begun so that sides 0 and 2 are its long ones."""
    first = np.linalg.norm(corners[1] - corners[0]) + np.linalg.norm(corners[3] - corners[2])
    second = np.linalg.norm(corners[2] - corners[1]) + np.linalg.norm(corners[0] - corners[3])
    return corners if first >= second else np.roll(corners, -1, axis=0)


def _tone(pixels: Pixels) -> npt.NDArray[np.uint8]:
    """Colour on a steeper scale in the dark, so that dark wood on a dark bench has an edge too."""
    curve = np.round(255 * np.log1p(np.arange(256) / 12) / np.log1p(255 / 12)).astype(np.uint8)
    return np.asarray(cv2.LUT(pixels, curve), np.uint8)


def _edges(pixels: Pixels, free: npt.NDArray[np.uint8], a: Points, b: Points, reach: int) -> list[_Edge]:
    """The straight edges near the line from a to b (inside to its right), innermost first."""
    length = float(np.linalg.norm(b - a))
    along = (b - a) / length
    inward = np.array([-along[1], along[0]])  # right-hand side of travel, rows running down
    t = np.linspace(0.04, 0.96, _SAMPLES)
    offsets = np.arange(-reach, reach + 1, dtype=float)
    grid = a + t[:, None, None] * (b - a) + offsets[None, :, None] * inward
    at_u, at_v = grid[..., 0].astype(np.float32), grid[..., 1].astype(np.float32)
    raw = cv2.remap(pixels, at_u, at_v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    seen = np.asarray(
        cv2.GaussianBlur(_tone(np.asarray(raw, np.uint8)).astype(np.float32), (1, 5), 0, sigmaY=1.5),
        np.float32,
    )
    step = np.zeros(seen.shape[:2], np.float32)
    step[:, 1:-1] = np.abs(seen[:, 2:] - seen[:, :-2]).sum(axis=2)
    step = np.minimum(step, np.percentile(step.max(axis=1), 60))
    u, v = (np.clip(np.round(grid[..., k]).astype(int), 0, pixels.shape[1 - k] - 1) for k in (0, 1))
    known = (free[v, u] > 0).astype(np.float32)
    step *= known
    found = []
    rows = np.arange(_SAMPLES)
    for best, slant, strength in _straight_lines(step, known, reach):
        near = np.clip(np.round(best + slant * (t - 0.5)).astype(int), 3, step.shape[1] - 4)
        window = np.stack([step[rows, near + k] for k in range(-2, 3)], axis=1)
        weight = np.maximum(window - window.min(axis=1, keepdims=True), 1e-6)
        places = near + (weight * np.arange(-2, 3)).sum(axis=1) / weight.sum(axis=1) - reach
        own = known[rows, near] > 0
        if own.sum() < 10:  # a side that lies under cards from end to end
            own = np.ones(_SAMPLES, bool)
        off = places - np.poly1d(np.polyfit(t[own], places[own], 1))(t)
        steady = own & (np.abs(off - np.median(off[own])) < max(1.0, 3 * float(np.median(np.abs(off[own])))))
        points = (a + t[:, None] * (b - a) + places[:, None] * inward)[steady]
        found.append(_Edge(points, _line(points), strength, _spread(seen, near)))
    return found


def _straight_lines(
    step: npt.NDArray[np.float32], known: npt.NDArray[np.float32], reach: int
) -> list[tuple[float, float, float]]:
    """Straight lines through steps of tone: (column half way, slant, strength), innermost first."""
    rows, columns = step.shape
    most = min(reach, _MOST_SLANT_PX)
    slants = np.linspace(-most, most, 2 * (most // 2) + 1)
    scores = np.zeros((len(slants), columns), np.float32)
    both = np.dstack([step, known])
    for k, slant in enumerate(slants):
        # A sheared copy, so that the slanted line stands upright: its column's sum is its strength.
        pull = slant * 0.92 / (rows - 1)
        move = np.array([[1.0, pull, -0.46 * slant], [0.0, 1.0, 0.0]])
        sheared = cv2.warpAffine(both, move, (columns, rows), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                                 borderMode=cv2.BORDER_REPLICATE)  # fmt: skip
        total = cv2.reduce(sheared, 0, cv2.REDUCE_SUM)[0]
        scores[k] = total[:, 0] / np.maximum(total[:, 1], 0.25 * rows)
    top = scores.max(axis=0)
    best = max(float(top[2:-2].max()), 1e-6)
    peaks = [
        c
        for c in range(2, columns - 2)
        if top[c] >= _FAINT_SHARE * best and top[c] == top[c - 1 : c + 2].max()
    ]
    peaks = sorted(sorted(peaks, key=lambda c: -top[c])[:8], reverse=True)
    peaks = peaks or [2 + int(np.argmax(top[2:-2]))]
    return [(float(c), float(slants[int(np.argmax(scores[:, c]))]), float(top[c]) / best) for c in peaks]


def _spread(seen: npt.NDArray[np.float32], near: npt.NDArray[np.intp]) -> float:
    """How wide the step is, as a Gaussian's spread [px]: from the mean profile across the edge."""
    reach = 6
    rows = np.arange(len(near))
    cols = np.clip(near[:, None] + np.arange(-reach, reach + 1), 0, seen.shape[1] - 1)
    profile = np.abs(np.diff(np.median(seen[rows[:, None], cols].mean(axis=2), axis=0)))
    top = int(np.argmax(profile[2:-2])) + 2
    half = float(profile[top]) / 2
    if half <= 0:
        return float(reach)
    # The width at half its height: a second edge beside it, such as the foot of the board's side, is no blur.
    wide = 0.0
    for part in (profile[top:], profile[top::-1]):
        below = np.flatnonzero(part < half)
        k = int(below[0]) if len(below) else len(part) - 1
        wide += k - 1 + float((part[k - 1] - half) / max(part[k - 1] - part[k], 1e-9)) if len(below) else k
    return wide / 2.355


def _line(points: Points) -> Points:
    """a, b, c of a u + b v = c through points, those that stray weighed down."""
    vx, vy, x0, y0 = (
        float(v) for v in np.ravel(cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01))
    )
    return np.array([-vy, vx, -vy * x0 + vx * y0])


def _meet(one: Points, other: Points) -> Points:
    return np.asarray(np.linalg.solve(np.array([one[:2], other[:2]]), np.array([one[2], other[2]])))
