"""Points that look flawed, gathered into regions, and what is measured of each region.

A region is drawn at several levels of likelihood, so that a knot stands beside its halo and a faint crack
beside its core; which of the nested outlines is kept is decided by what is measured of each.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stockyard.photos.evidence import NAMES, Evidence, Field, Mask
from stockyard.photos.opencv import cv2

Places = npt.NDArray[np.intp]

LOOKS = ("clear", "sound_knot", "unsound_knot", "crack", "resin", "pith", "stain", "bark")
"""What a point or a region may look like. Resin is gum in whatever shape, bark also the rim of wane."""

# The looks that run into one another on a real face are gathered together and told apart as a whole.
FAMILIES = {
    "knot": ("sound_knot", "unsound_knot", "bark"),
    "line": ("crack", "resin", "pith"),
    "patch": ("stain",),
}
_JOIN_MM = {"knot": (1.0, 1.5), "line": (0.7, 7.0), "patch": (4.0, 8.0)}  # (across, along) bridged
_LEVELS = (0.3, 0.5, 0.75, 0.92)  # likelihoods of its family at which a region may be drawn around
_SAME_SHARE = 0.9
_ENOUGH = 300  # points of a region are measured; more say the same
_SHAPES = (
    "log_length", "log_width", "log_area", "slender", "fill", "lean", "at_edge", "at_end", "peak", "level",
    "family_line", "family_patch", "board_lines", "board_rough", "board_pits", "contrast_around", "neutral",
    "over_lines", "long_over_lines", "over_pits", "over_rough",
)  # fmt: skip
FEATURES = (
    *(f"mean_{look}" for look in LOOKS),
    *(f"top_{look}" for look in LOOKS[1:]),
    *(f"mean_{name}" for name in NAMES),
    *(f"top_{name}" for name in NAMES),
    *_SHAPES,
)


@dataclass(frozen=True, slots=True)
class Region:
    """rows, columns: of its points. features: a value for each of FEATURES. family: of FAMILIES."""

    family: str
    rows: npt.NDArray[np.intp]
    columns: npt.NDArray[np.intp]
    features: Field


@dataclass(frozen=True, slots=True)
class PointLooks:
    """What points look like. likely: (n, len(LOOKS)), each row adding up to 1; all other points are clear.

    rows, columns: (n,) of the points. place: for each point of the face its row in `likely`, else -1.
    """

    likely: Field
    rows: npt.NDArray[np.intp]
    columns: npt.NDArray[np.intp]
    place: npt.NDArray[np.int32]


def find_regions(points: PointLooks, evidence: Evidence, mask: Mask, least_mm: float) -> list[Region]:
    """Gather regions.

    mask: 255 on the board. least_mm: regions whose longest side is smaller are left out.
    """
    mm = evidence.mm
    inside = mask > 0
    board = _board_facts(evidence, inside)
    dark = evidence.whole("dark_30")
    found: list[Region] = []
    for family, looks in FAMILIES.items():
        own = points.likely[:, [LOOKS.index(look) for look in looks]].sum(axis=1)
        share = np.zeros(mask.shape, np.float32)
        share[points.rows, points.columns] = own
        reach = _JOIN_MM[family]
        kernel = np.ones((max(1, round(reach[0] / mm[0])), max(1, round(reach[1] / mm[1]))), np.uint8)
        for level, rows, columns in _nested(share, kernel, mm, least_mm):
            likely = points.likely[points.place[rows, columns]]
            seen = _measure(family, level, share, likely, evidence, dark, inside, rows, columns, board)
            found.append(Region(family, rows, columns, seen))
    return found


def _nested(
    share: Field, kernel: Mask, mm: tuple[float, float], least_mm: float
) -> Iterator[tuple[float, Places, Places]]:
    """(level, rows, columns) of each connected set of points at each level, the lower ones first.

    A set that is nearly the whole of the one it lies in is the same outline, and is left out.
    """
    waiting = [
        (0, share, 0, 0, 0)
    ]  # which level, a part of the face, where it begins, the points it had before
    while waiting:
        which, part, down, right, before = waiting.pop()
        level = _LEVELS[which]
        for rows, columns, box in _connected((part > level).astype(np.uint8), kernel, mm, least_mm):
            if len(rows) <= _SAME_SHARE * before or not before:
                yield level, rows + down, columns + right
            if which + 1 < len(_LEVELS):
                own = np.zeros((box[0].stop - box[0].start, box[1].stop - box[1].start), np.float32)
                own[rows - box[0].start, columns - box[1].start] = part[rows, columns]
                had = len(rows) if len(rows) <= _SAME_SHARE * before or not before else before
                waiting.append((which + 1, own, down + box[0].start, right + box[1].start, had))


def _connected(
    points: Mask, kernel: Mask, mm: tuple[float, float], least_mm: float
) -> Iterator[tuple[Places, Places, tuple[slice, slice]]]:
    """The rows and columns of each connected set of points, small gaps bridged, and its box."""
    if not points.any():
        return
    joined = cv2.morphologyEx(points, cv2.MORPH_CLOSE, kernel)
    _, names, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    long = np.maximum(stats[:, cv2.CC_STAT_WIDTH] * mm[1], stats[:, cv2.CC_STAT_HEIGHT] * mm[0]) >= least_mm
    for name in np.flatnonzero(long[1:]) + 1:
        left, top, wide, high, _ = (int(v) for v in stats[name])
        box = (slice(top, top + high), slice(left, left + wide))
        rows, columns = np.nonzero((names[box] == name) & (points[box] > 0))
        if len(rows):
            yield rows + top, columns + left, box


def _board_facts(evidence: Evidence, inside: npt.NDArray[np.bool_]) -> tuple[float, float, float]:
    """How lined, rough and pitted the face is as a whole: what is common on it is its wood, not a flaw."""
    facts = []
    for name in ("fine_line", "rough", "pit_3"):
        field = evidence.fields[name]
        down, right = (1, 1) if field.shape == inside.shape else evidence.step
        seen = field[:: 4 // down, :: 4 // right]
        values = seen[inside[::4, ::4][: seen.shape[0], : seen.shape[1]]]
        facts.append(float(np.percentile(values, 90)) if len(values) else 0.0)
    return facts[0], facts[1], facts[2]


def _measure(
    family: str, level: float, share: Field, likely: Field, evidence: Evidence, dark_30: Field,
    inside: npt.NDArray[np.bool_], rows: Places, columns: Places, board: tuple[float, float, float],
) -> Field:  # fmt: skip
    mm = evidence.mm
    some = slice(None, None, 1 + len(rows) // _ENOUGH)
    at = likely[some]
    values = evidence.at(rows[some], columns[some])
    y, x = rows * mm[0], columns * mm[1]
    length, width = float(np.ptp(x)) + mm[1], float(np.ptp(y)) + mm[0]
    area = len(rows) * mm[0] * mm[1]
    spread = float(np.std(x))
    lean = float(np.cov(x, y)[0, 1] / spread**2) if spread > 0.5 else 0.0
    tall, wide = inside.shape
    pad_rows, pad_columns = max(1, round(2.0 / mm[0])), max(1, round(2.0 / mm[1]))
    edge = _leaves_board(inside, rows, columns, pad_rows, 0)
    end = _leaves_board(inside, rows, columns, 0, pad_columns)
    around = dark_30[
        max(0, rows.min() - 3 * pad_rows) : min(tall, rows.max() + 3 * pad_rows + 1),
        max(0, columns.min() - pad_columns) : min(wide, columns.max() + pad_columns + 1),
    ]
    dark = float(values[:, NAMES.index("dark_30")].mean())
    shapes = (
        np.log(length), np.log(area / length), np.log(area), np.log(length * length / area),
        area / (length * width), abs(lean), edge, end, float(share[rows, columns].max()), level,
        family == "line", family == "patch", board[0], board[1], board[2], dark - float(np.median(around)),
        dark - float(values[:, NAMES.index("red_30")].mean()),
    )  # fmt: skip
    top = _top(values)
    # How far it stands above what the whole face is like: a line among many such lines is its figure.
    above = [
        np.log((max(float(top[NAMES.index(name)]), 0) + 1) / (max(usual, 0) + 1))
        for name, usual in zip(
            ("fine_line", "long_line", "pit_3", "rough"),
            (board[0], board[0], board[2], board[1]),
            strict=True,
        )
    ]
    parts = [
        at.mean(axis=0),
        _top(at[:, 1:]),
        values.mean(axis=0),
        top,
        np.array(shapes, float),
        np.array(above),
    ]
    return np.concatenate(parts).astype(np.float32)


def _top(values: Field) -> Field:
    """The value that nine tenths stay below, column by column."""
    return np.asarray(np.sort(values, axis=0)[round(0.9 * (len(values) - 1))])


def _leaves_board(
    inside: npt.NDArray[np.bool_], rows: Places, columns: Places, down: int, right: int
) -> bool:
    """Does the region come within (down, right) pixels of where the board stops?"""
    tall, wide = inside.shape
    for sign in (-1, 1):
        r, c = rows + sign * down, columns + sign * right
        outside = (r < 0) | (r >= tall) | (c < 0) | (c >= wide)
        if outside.any() or not inside[r[~outside], c[~outside]].all():
            return True
    return False
