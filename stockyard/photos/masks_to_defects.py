"""From what each point is to whole flaws: a point belongs to one flaw at most, and a flaw is told once."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import LineString, Polygon

from stockyard.photos.classes import CLASSES, TOLD_MM
from stockyard.photos.opencv import cv2
from stockyard.photos.plane import Points
from stockyard.photos.tiles import Likely

Bits = npt.NDArray[np.uint8]
Places = npt.NDArray[np.intp]

FAMILIES = {
    "knot": ("sound_knot", "unsound_knot"),
    "line": ("crack", "gum", "pith"),
    "bark": ("bark",),
    "patch": ("stain",),
    "rim": ("wane",),
}
"""Classes that run into one another on one flaw; which of them it is, is decided for it as a whole."""

_FLAW = 0.3  # how likely a flaw of any kind a point is, to belong to one
_JOIN_MM = {
    "knot": (1.0, 2.0),
    "line": (1.5, 9.0),
    "bark": (1.0, 3.0),
    "patch": (4.0, 8.0),
    "rim": (1.5, 10.0),
}
_WITHIN = 0.45  # of its rim against another flaw that is larger: a part of that one
MEASURES = (
    "mean", "top", "log_area", "log_length", "own_share", "cut", *FAMILIES, "mean_line", "log_length_line",
    "top_knot", "log_area_knot",
)  # fmt: skip
"""What is measured of a patch to say how sure it is."""


@dataclass(frozen=True, slots=True)
class Patch:
    """rows, columns: its points at TOLD_MM. shares: of each class, over its points. measures: as MEASURES."""

    family: str
    rows: Places
    columns: Places
    shares: Likely
    measures: Likely

    @property
    def length_mm(self) -> float:
        """Along the grain."""
        return float(np.ptp(self.columns) + 1) * TOLD_MM[1]

    @property
    def width_mm(self) -> float:
        """Across it."""
        return float(np.ptp(self.rows) + 1) * TOLD_MM[0]


def find_patches(told: Likely, inside: npt.NDArray[np.bool_], least_mm: float) -> list[Patch]:
    """The flaws of a face.

    told: (len(CLASSES), rows, columns). inside: (rows, columns), where there is board. least_mm: patches
    whose longest side is smaller are left out.
    """
    flaw = np.where(inside, told[2:].sum(axis=0), 0).astype(np.float32)
    member = flaw > _FLAW
    if not member.any():
        return []
    sums = np.stack(
        [told[[CLASSES.index(name) for name in names]].sum(axis=0) for names in FAMILIES.values()]
    )
    family = sums.argmax(axis=0)
    owner = np.zeros(flaw.shape, np.int32)
    count = 1
    for k, name in enumerate(FAMILIES):
        points = (member & (family == k)).astype(np.uint8)
        if not points.any():
            continue
        found_here, names = cv2.connectedComponents(_bridged(points, name), connectivity=8)
        own = points > 0
        owner[own] = names[own] + count - 1
        count += found_here - 1
    _take_in_parts(owner, count)
    found = []
    for rows, columns in _points_of(owner):
        length, width = (np.ptp(columns) + 1) * TOLD_MM[1], (np.ptp(rows) + 1) * TOLD_MM[0]
        if max(length, width) >= least_mm:
            found.append(_measured(rows, columns, told, flaw))
    return found


def _bridged(points: Bits, family: str) -> Bits:
    """The gaps that a family's flaws are known to have, filled."""
    size = [2 * round(reach / mm / 2) + 1 for reach, mm in zip(_JOIN_MM[family], TOLD_MM, strict=True)]
    closed = cv2.morphologyEx(points, cv2.MORPH_CLOSE, np.ones(size, np.uint8))
    return np.asarray(np.maximum(closed, points), np.uint8)


def _points_of(owner: npt.NDArray[np.int32]) -> list[tuple[Places, Places]]:
    rows, columns = np.nonzero(owner)
    names = owner[rows, columns]
    order = np.argsort(names, kind="stable")
    cuts = np.flatnonzero(np.diff(names[order])) + 1
    return [(rows[part], columns[part]) for part in np.split(order, cuts) if len(part)]


def _take_in_parts(owner: npt.NDArray[np.int32], count: int) -> None:
    """Give a patch that mostly lies against a larger one to that one: the bark rim of a knot is its own."""
    sizes = np.bincount(owner.ravel(), minlength=count)
    pairs: dict[tuple[int, int], int] = {}
    rims = np.zeros(count, np.int64)
    for one, other in ((owner[:-1], owner[1:]), (owner[:, :-1], owner[:, 1:])):
        seam = one != other
        a, b = one[seam], other[seam]
        rims += np.bincount(a, minlength=count) + np.bincount(b, minlength=count)
        both = (a > 0) & (b > 0)
        keys, often = np.unique(np.stack([a[both], b[both]]), axis=1, return_counts=True)
        for (x, y), n in zip(keys.T, often, strict=True):
            for pair in ((int(x), int(y)), (int(y), int(x))):
                pairs[pair] = pairs.get(pair, 0) + int(n)
    goes = np.arange(count, dtype=np.int32)
    for (part, whole), shared in sorted(pairs.items(), key=lambda one: -one[1]):
        small = sizes[part] < sizes[whole] or shared > 0.8 * rims[part]
        if small and shared > _WITHIN * rims[part] and goes[part] == part and goes[whole] != part:
            goes[part] = goes[whole]
    # What went to a patch that itself went on goes on with it.
    while (goes != goes[goes]).any():
        goes = goes[goes]
    owner[:] = goes[owner]


def _measured(rows: Places, columns: Places, told: Likely, flaw: Likely) -> Patch:
    own = flaw[rows, columns]
    shares = told[:, rows, columns].mean(axis=1)
    # A patch that took in others is what most of it is.
    family = max(
        FAMILIES, key=lambda one: float(shares[[CLASSES.index(name) for name in FAMILIES[one]]].sum())
    )
    names = [CLASSES.index(name) for name in FAMILIES[family]]
    length, width = (np.ptp(columns) + 1) * TOLD_MM[1], (np.ptp(rows) + 1) * TOLD_MM[0]
    area = len(rows) * TOLD_MM[0] * TOLD_MM[1]
    top = float(np.sort(own)[round(0.9 * (len(own) - 1))])
    mean, log_area, log_length = float(own.mean()), float(np.log(area)), float(np.log(max(length, width)))
    edge = (columns.min() == 0) | (columns.max() == flaw.shape[1] - 1)
    line, knot = float(family == "line"), float(family == "knot")
    own_share = float(shares[names].sum() / max(shares[2:].sum(), 1e-6))
    measures = [
        mean, top, log_area, log_length, own_share, float(edge),
        *(float(family == name) for name in FAMILIES), mean * line, log_length * line, top * knot,
        log_area * knot,
    ]  # fmt: skip
    return Patch(family, rows, columns, shares.astype(np.float32), np.array(measures, np.float32))


def outline_of(patch: Patch) -> Points:
    """A polygon (n, 2) of (column, row) around a patch's points at TOLD_MM, its gaps bridged."""
    top, left = int(patch.rows.min()) - 2, int(patch.columns.min()) - 2
    drawn = np.zeros((int(patch.rows.max()) - top + 3, int(patch.columns.max()) - left + 3), np.uint8)
    drawn[patch.rows - top, patch.columns - left] = 1
    contours, _ = cv2.findContours(_bridged(drawn, patch.family), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=len) if len(contours) == 1 else cv2.convexHull(np.vstack(contours))
    ring = contour.reshape(-1, 2).astype(float)
    # Half a point outwards: the polygon goes round the points, not through the middles of the outer ones.
    rim = LineString(np.vstack([ring, ring[:1]])).buffer(0.5, cap_style="square", join_style="mitre")
    shape = rim.union(Polygon(ring).buffer(0)) if len(ring) > 3 else rim
    smooth = shape.simplify(0.5)
    largest = max(getattr(smooth, "geoms", [smooth]), key=lambda one: one.area)
    ring_at = np.add(np.array(largest.exterior.coords[:-1]), (left, top))
    return np.asarray(ring_at, np.float64)
