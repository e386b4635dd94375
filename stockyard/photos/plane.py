"""From a picture's pixels to a face's millimetres: a lens, then a plane seen in perspective."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stockyard.photos.opencv import cv2

Points = npt.NDArray[np.float64]
Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """Where each pixel lies on the face.

    matrix: (3, 3), from undistorted image coordinates to the board frame [mm]. middle_px: the picture's
    centre (column, row). unit_px: half its longer side, the unit of image coordinates. lens: radial
    coefficient k of r_seen = r (1 + k r^2), r in that unit; 0 where not known.
    """

    matrix: Matrix
    middle_px: tuple[float, float]
    unit_px: float
    lens: float = 0.0

    def to_board(self, points_px: npt.ArrayLike) -> Points:
        """(n, 2) picture points (column, row) as (x, y) of the board frame [mm]."""
        flat = np.atleast_2d(np.asarray(points_px, float))
        return _project(self.matrix, undistorted(flat, self.middle_px, self.unit_px, self.lens))

    def to_picture(self, points_mm: npt.ArrayLike) -> Points:
        """(n, 2) board points [mm] as (column, row) of the picture."""
        flat = _project(_inverse(self.matrix), np.atleast_2d(np.asarray(points_mm, float)))
        square = (flat**2).sum(axis=1, keepdims=True)
        return np.asarray(flat * (1 + self.lens * square) * self.unit_px + np.asarray(self.middle_px))

    def mm_per_px(self, point_mm: tuple[float, float]) -> tuple[float, float]:
        """How many millimetres a pixel of the picture is, (along, across), at a board point."""
        x, y = point_mm
        here, right, up = self.to_picture([(x, y), (x + 1, y), (x, y + 1)])
        return 1 / float(np.linalg.norm(right - here)), 1 / float(np.linalg.norm(up - here))


def shown_ratio(plane: PlaneMap, focal_35mm: float | None) -> float:
    """How long for its width a board is shown, against the size its map was made with: 1 when they agree.

    A plane's two directions must come out equally scaled and square through a lens of known focal length
    (Zhang 2000, equations 3 and 4); phones that do not say theirs have about 26 mm for a 35 mm frame.
    """
    focal = (focal_35mm or 26.0) / 18.0  # in half picture lengths: a 35 mm frame is 36 mm long
    back = _inverse(plane.matrix)
    first, second = back[:, 0] / (focal, focal, 1), back[:, 1] / (focal, focal, 1)
    return float(np.linalg.norm(first) / np.linalg.norm(second))


def camera_across_mm(plane: PlaneMap, focal_35mm: float | None) -> float:
    """The y over which the camera stood, in the board frame [mm]: beyond an edge, it saw that edge's side."""
    focal = (focal_35mm or 26.0) / 18.0
    back = _inverse(plane.matrix) / np.array([[focal], [focal], [1.0]])
    size = (np.linalg.norm(back[:, 0]) + np.linalg.norm(back[:, 1])) / 2
    up, away = back[:, 1] / size, back[:, 2] / size
    return float(-up @ away)


def undistorted(points_px: Points, middle_px: tuple[float, float], unit_px: float, lens: float) -> Points:
    """Picture points as image coordinates without the lens's distortion."""
    seen = (points_px - np.asarray(middle_px)) / unit_px
    if lens == 0.0:
        return np.asarray(seen)
    square = np.einsum("ij,ij->i", seen, seen)
    # Newton on the stretch s = r / r_seen, which solves s (1 + lens r_seen^2 s^2) = 1.
    bent, s = lens * square, np.ones(len(seen))
    for _ in range(4):
        cube = bent * s * s
        s = s - (s * (1 + cube) - 1) / (1 + 3 * cube)
    return np.asarray(seen * s[:, None])


def frame_of(shape: tuple[int, ...]) -> tuple[tuple[float, float], float]:
    """middle_px and unit_px of a picture of this shape."""
    rows, columns = shape[:2]
    return ((columns - 1) / 2, (rows - 1) / 2), max(rows, columns) / 2


def four_point_map(
    corners_px: Points, corners_mm: Points, shape: tuple[int, ...], lens: float = 0.0
) -> PlaneMap:
    """The map that takes four picture points to four board points."""
    middle, unit = frame_of(shape)
    flat = undistorted(corners_px, middle, unit, lens)
    matrix = cv2.getPerspectiveTransform(flat.astype(np.float32), corners_mm.astype(np.float32))
    # In float32 the transform is good to a few hundredths of a millimetre; one exact solve removes that.
    return PlaneMap(_refined(np.asarray(matrix, float), flat, corners_mm), middle, unit, lens)


def _refined(start: Matrix, flat: Points, wanted: Points) -> Matrix:
    rows = []
    for (u, v), (x, y) in zip(flat, wanted, strict=True):
        rows.append([u, v, 1, 0, 0, 0, -x * u, -x * v])
        rows.append([0, 0, 0, u, v, 1, -y * u, -y * v])
    try:
        solved = np.linalg.solve(np.array(rows), wanted.reshape(-1))
    except np.linalg.LinAlgError:
        return start
    return np.append(solved, 1.0).reshape(3, 3)


def _inverse(matrix: Matrix) -> Matrix:
    return np.asarray(np.linalg.inv(matrix), np.float64)


def _project(matrix: Matrix, points: Points) -> Points:
    lifted = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(lifted[:, :2] / lifted[:, 2:], np.float64)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a picture shows of one plane.

    squares: each card's marker corners, (4, 2) px. square_mm: their side. sides: edge points (n, 2) px along
    edge 1 (y = 0), end 2 (x = L), edge 2 (y = W), end 1 (x = 0); an empty array where not seen.
    """

    squares: tuple[Points, ...]
    square_mm: float
    sides: tuple[Points, Points, Points, Points]


def fit_plane(
    start: PlaneMap, seen: Seen, size_mm: tuple[float, float], width_known: bool = False
) -> tuple[PlaneMap, tuple[float, float], float]:
    """The map, the board's size (length, width) and the remaining error [px] that fit all that is seen best.

    The markers' known size gives the scale; where each lies on the face is found with the rest. Straight
    edges and square markers together give the lens. start: a first map. size_mm: a first size;
    with width_known its width is held.
    Method: least squares by damped Gauss-Newton steps, edge points weighed down where they stray (Huber).
    """
    half = seen.square_mm / 2
    ring = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
    first = start.to_board(np.vstack(seen.squares))
    along, across = start.mm_per_px((size_mm[0] / 2, size_mm[1] / 2))
    px_per_mm = 2 / (along + across)
    poses = []
    for k in range(len(seen.squares)):
        quad = first[4 * k : 4 * k + 4]
        top = quad[1] - quad[0]
        poses += [*quad.mean(axis=0), np.arctan2(top[1], top[0])]
    # A mirrored print (face B in the board's frame) turns the other way round.
    quad = first[:4]
    (ax, ay), (bx, by) = quad[1] - quad[0], quad[2] - quad[1]
    handed = -1.0 if ax * by - ay * bx > 0 else 1.0
    norm = start.matrix / start.matrix[2, 2]
    p = np.concatenate([norm.reshape(-1)[:8], [start.lens], size_mm, poses])
    scale = np.concatenate(
        [np.abs(norm.reshape(-1)[:8]) * 1e-4 + 1e-4, [1e-4, 0.1, 0.1], [0.1, 0.1, 1e-3] * len(seen.squares)]
    )
    corners = np.vstack(seen.squares)
    ideal = np.column_stack([ring[:, 0], handed * ring[:, 1]])
    every = np.vstack([corners, *(side for side in seen.sides if len(side))])
    # Which coordinate of each edge point is measured, and against what: 0, the length or the width.
    axis = np.concatenate([np.full(len(side), k) for side, k in zip(seen.sides, (1, 0, 1, 0), strict=True)])
    meant = np.concatenate([np.full(len(side), k) for side, k in zip(seen.sides, (0, 1, 2, 0), strict=True)])
    take = np.arange(len(axis)), axis
    # However many points, an edge is one straight line that a board follows only so well.
    edge_weight = np.concatenate([np.full(len(side), np.sqrt(12 / max(1, len(side)))) for side in seen.sides])
    edge_weight = edge_weight * px_per_mm / 0.8

    def residuals(q: Points) -> tuple[Points, Points]:
        matrix = np.append(q[:8], 1.0).reshape(3, 3)
        lens, length, width = float(q[8]), q[9], size_mm[1] if width_known else q[10]

        placed_all = _project(matrix, undistorted(every, start.middle_px, start.unit_px, lens))
        placed = placed_all[: len(corners)].reshape(-1, 4, 2)
        poses = q[11:].reshape(-1, 3)
        cos, sin = np.cos(poses[:, 2])[:, None], np.sin(poses[:, 2])[:, None]
        turned = np.stack([ideal[:, 0] * cos - ideal[:, 1] * sin, ideal[:, 0] * sin + ideal[:, 1] * cos], 2)
        firm = (placed - turned - poses[:, None, :2]).reshape(-1) * px_per_mm / 0.15
        loose = (placed_all[len(corners) :][take] - np.array((0.0, length, width))[meant]) * edge_weight
        # A phone's own correction leaves little of its lens.
        return np.append(firm, lens / 0.03), loose

    def all_of(q: Points) -> Points:
        firm, loose = residuals(q)
        weight = np.sqrt(1 / np.maximum(1, np.abs(loose) / 1.5))
        return np.concatenate([firm, loose * weight])

    now, damp = all_of(p), 1e-3
    for _ in range(40):
        slope = np.column_stack(
            [(all_of(p + step) - now) / size for step, size in zip(np.diag(scale), scale, strict=True)]
        )
        unit = slope * scale
        left, right = unit.T @ unit, unit.T @ now
        move = -np.linalg.solve(left + damp * np.diag(np.diag(left) + 1e-12), right) * scale
        ahead = all_of(p + move)
        if ahead @ ahead < now @ now:
            gain = 1 - (ahead @ ahead) / (now @ now)
            p, now, damp = p + move, ahead, max(damp / 5, 1e-9)
            if gain < 1e-7:
                break
        else:
            damp *= 8
            if damp > 1e6:
                break
    firm, _ = residuals(p)
    error_px = float(np.sqrt(np.mean((firm[:-1] * 0.15) ** 2)))
    fitted = PlaneMap(np.append(p[:8], 1.0).reshape(3, 3), start.middle_px, start.unit_px, float(p[8]))
    return fitted, (float(p[9]), float(p[10])), error_px
