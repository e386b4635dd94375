"""A camera over a bench: pose, lens, light, noise and JPEG, with marker cards laid by hand."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from stockyard.photos.cards import CARD_MM, MARKER_MM, CornerCard, card_picture
from tests.photos.render.board import DrawnBoard
from tests.photos.render.texture import Rng, noise

BENCHES = {"mat": (30, -2, -3), "concrete": (62, 0, 4), "ply": (74, 5, 20), "slate": (18, 0, 0)}  # CIELAB


@dataclass(frozen=True)
class Shot:
    """How a picture is taken. Angles in degrees, size in pixels (columns, rows).

    fill: how much of the frame's longer side the board takes. turn: of the camera about its axis. lens: the
    radial coefficients k1, k2 of Brown's model. end1: which side of the frame end 1 is on before `turn`.
    """

    size: tuple[int, int] = (2000, 1500)
    fill: float = 0.9
    tilt_along: float = 4.0
    tilt_across: float = 8.0
    turn: float = 0.0
    lens: tuple[float, float] = (0.0, 0.0)
    focal: float = 0.75  # of the frame's longer side
    bench: str = "mat"
    cast: tuple[float, float, float] = (1.0, 1.0, 1.0)
    uneven: float = 0.15
    shadow: float = 0.0
    glare: float = 0.0
    blur_px: float = 0.6
    noise: float = 0.006
    quality: int = 90
    cards: tuple[int, ...] = ()
    look_at: float = 0.5  # where along the board the camera points, for pictures of a part


@dataclass
class Photograph:
    """pixels: RGB. content: the JPEG. The rest is the truth."""

    pixels: npt.NDArray[np.uint8]
    content: bytes
    board: DrawnBoard
    face: str
    shot: Shot
    camera: "Camera"
    card_corners_mm: dict[int, npt.NDArray[np.float64]] = field(default_factory=dict)

    def to_px(self, points_mm: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Points of the board frame on the photographed face, as (column, row) of the picture."""
        flat = np.atleast_2d(np.asarray(points_mm, float))
        y = flat[:, 1] if self.face == "A" else self.board.width_mm - flat[:, 1]
        return self.camera.project(
            np.column_stack([flat[:, 0], y, np.full(len(flat), self.board.thickness_mm)])
        )

    @property
    def corners_px(self) -> npt.NDArray[np.float64]:
        """(0, 0), (L, 0), (L, W), (0, W) of the board frame in the picture."""
        length, width = self.board.length_mm, self.board.width_mm
        return self.to_px([(0, 0), (length, 0), (length, width), (0, width)])


@dataclass
class Camera:
    """A pinhole with a radial lens. turn: (3, 3) world to camera; place: (3,) [mm]."""

    turn: npt.NDArray[np.float64]
    place: npt.NDArray[np.float64]
    focal_px: float
    middle: npt.NDArray[np.float64]
    lens: tuple[float, float]

    def project(self, world: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        seen = (world - self.place) @ self.turn.T
        flat = seen[:, :2] / seen[:, 2:]
        square = (flat**2).sum(1, keepdims=True)
        return flat * (1 + self.lens[0] * square + self.lens[1] * square**2) * self.focal_px + self.middle

    def rays(self, size: tuple[int, int]) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
        """The undistorted image plane coordinates of every pixel."""
        u = ((np.arange(size[0]) - self.middle[0]) / self.focal_px).astype(np.float32)[None]
        v = ((np.arange(size[1]) - self.middle[1]) / self.focal_px).astype(np.float32)[:, None]
        x, y = np.broadcast_to(u, size[::-1]).copy(), np.broadcast_to(v, size[::-1]).copy()
        if self.lens != (0.0, 0.0):
            for _ in range(4):
                square = x * x + y * y
                stretch = 1 + self.lens[0] * square + self.lens[1] * square * square
                x, y = u / stretch, v / stretch
        return x, y

    def on_plane(
        self, rays: tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]], height_mm: float
    ) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
        """Where every pixel's ray meets the plane at a height."""
        x, y = rays
        r = self.turn.astype(np.float32)
        across = [r[0, i] * x + r[1, i] * y + r[2, i] for i in range(3)]
        reach = np.float32(height_mm - self.place[2]) / across[2]
        return self.place[0].astype(np.float32) + reach * across[0], self.place[1].astype(
            np.float32
        ) + reach * across[1]


def photograph(board: DrawnBoard, face: str = "A", shot: Shot | None = None, seed: int = 0) -> Photograph:
    """Photograph a face of a board lying on a bench, end 1 to the left before the shot's own turn."""
    shot = shot or Shot()
    rng = np.random.default_rng((seed, 77))
    texture = board.faces[face] if face == "A" else board.faces[face][::-1]
    texture, cards_mm = _lay_cards(texture, board, face, shot, rng)
    camera = _camera(board, shot)
    rays = camera.rays(shot.size)
    scene = _bench(rng, camera, rays, board, shot)
    _sides(scene, camera, board, texture)
    _face(scene, camera, rays, board, texture, shot)
    light = _light(rng, shot)
    scene = _linear(scene) * light[..., None] * np.array(shot.cast, np.float32)
    if shot.glare:
        v, u = np.mgrid[0 : shot.size[1], 0 : shot.size[0]].astype(np.float32)
        at = camera.project(np.array([[board.length_mm * 0.6, board.width_mm * 0.5, board.thickness_mm]]))[0]
        spot = np.exp(
            -(((u - at[0]) / (0.10 * shot.size[0])) ** 2) - ((v - at[1]) / (0.06 * shot.size[1])) ** 2
        )
        scene += (spot * shot.glare)[..., None]
    if shot.blur_px:
        scene = cv2.GaussianBlur(scene, (0, 0), shot.blur_px)
    grain = rng.standard_normal(scene.shape, np.float32) * shot.noise
    scene = scene + grain * np.sqrt(np.maximum(scene, 0) * 1.5 + 0.1)
    shown = (np.clip(scene, 0, 1) ** (1 / 2.2) * 255 + 0.5).astype(np.uint8)
    ok, packed = cv2.imencode(".jpg", shown[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, shot.quality])
    assert ok
    seen = np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])
    return Photograph(seen, packed.tobytes(), board, face, shot, camera, cards_mm)


def _camera(board: DrawnBoard, shot: Shot) -> Camera:
    focal = shot.focal * max(shot.size)
    a, b, c = np.radians([shot.tilt_along, shot.tilt_across, shot.turn])
    tip = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    lean = np.array([[1, 0, 0], [0, np.cos(b), -np.sin(b)], [0, np.sin(b), np.cos(b)]])
    spin = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    # The camera looks down: its columns run along +x, its rows along -y, its depth along -z.
    turn = spin @ lean @ tip @ np.diag([1.0, -1.0, -1.0])
    target = np.array([board.length_mm * shot.look_at, board.width_mm / 2, board.thickness_mm])
    far = board.length_mm * focal / (shot.fill * max(shot.size))
    place = target - turn.T @ np.array([0, 0, far])
    middle = np.array([(shot.size[0] - 1) / 2, (shot.size[1] - 1) / 2])
    camera = Camera(turn, place, focal, middle, shot.lens)
    if shot.look_at == 0.5:
        # A person frames the whole board: step back until no corner is cut off.
        corners = np.array(
            [(x, y, board.thickness_mm) for x in (0, board.length_mm) for y in (0, board.width_mm)]
        )
        for _ in range(60):
            seen = camera.project(corners)
            if (seen > 0.015 * max(shot.size)).all() and (
                seen < np.array(shot.size) - 0.015 * max(shot.size)
            ).all():
                break
            far *= 1.03
            camera.place = target - turn.T @ np.array([0, 0, far])
    return camera


def _lay_cards(
    texture: npt.NDArray[np.uint8], board: DrawnBoard, face: str, shot: Shot, rng: Rng
) -> tuple[npt.NDArray[np.uint8], dict[int, npt.NDArray[np.float64]]]:
    """Cards near their corners, a little askew; station cards spread along the face."""
    if not shot.cards:
        return texture, {}
    drawn, scale = texture.copy(), 1 / board.mm_per_px
    stations = [name for name in shot.cards if name >= 10]
    corners: dict[int, npt.NDArray[np.float64]] = {}
    for name in shot.cards:
        gap = CARD_MM * 0.75
        if name < 4:
            corner = CornerCard(name)
            x = gap + rng.uniform(0, 10) if corner.end == 1 else board.length_mm - gap - rng.uniform(0, 10)
            aside = min(gap, (board.width_mm - 1.08 * CARD_MM) / 2)  # so that two cards do not overlap
            y = aside if corner.edge == 1 else board.width_mm - aside
            if board.width_mm < 2.25 * CARD_MM:  # a narrow board: one behind the other
                y = board.width_mm / 2
                x += (CARD_MM * 1.2 if corner.end == 1 else -CARD_MM * 1.2) * (corner.edge == 2)
        else:
            x = board.length_mm * (stations.index(name) + 0.5) / len(stations)
            y = board.width_mm * rng.uniform(0.4, 0.6)
        seen_y = y if face == "A" else board.width_mm - y
        angle = np.radians(rng.normal(0, 4) + 90 * rng.integers(4))
        art = card_picture(name, 8.0)
        side = art.shape[0]
        cos, sin = np.cos(angle), np.sin(angle)
        # From the card's pixels to the face's: the card's middle on the place, turned.
        k = scale / 8.0
        row = texture.shape[0] - seen_y * scale
        move = np.array([[k * cos, -k * sin, 0], [k * sin, k * cos, 0]])
        move[:, 2] = np.array([x * scale, row]) - 0.5 - move[:, :2] @ np.array([side - 1, side - 1]) / 2
        art = cv2.GaussianBlur(art, (0, 0), 0.4 / k)
        laid = cv2.warpAffine(art, move, texture.shape[1::-1], flags=cv2.INTER_LINEAR)
        mask = cv2.warpAffine(np.full_like(art, 255), move, texture.shape[1::-1], flags=cv2.INTER_LINEAR)
        share = mask[..., None].astype(np.float32) / 255
        drawn = (drawn * (1 - share) + laid[..., None] * 0.93 * share).astype(np.uint8)
        half = MARKER_MM / 2
        ring = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])
        placed = np.column_stack(
            [x + ring[:, 0] * cos - ring[:, 1] * sin, -(ring[:, 0] * sin + ring[:, 1] * cos)]
        )
        placed[:, 1] = seen_y + placed[:, 1]
        if face == "B":
            placed[:, 1] = board.width_mm - placed[:, 1]
        corners[name] = placed
    return drawn, corners


def _bench(
    rng: Rng, camera: Camera, rays: tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]],
    board: DrawnBoard, shot: Shot,
) -> npt.NDArray[np.float32]:  # fmt: skip
    x, y = camera.on_plane(rays, 0)
    cell = 2.0
    tile = np.empty((1024, 1024, 3), np.float32)
    tile[:] = BENCHES[shot.bench]
    tile[..., 0] += noise(rng, (1024, 1024), 90, 140) * 1.5 + noise(rng, (1024, 1024), 3, 3) * 1.2
    if shot.bench == "ply":
        tile[..., 0] += noise(rng, (1024, 1024), 3, 160) * 2.0
    for _ in range(14):  # marks of old work
        a, b = rng.integers(0, 1024, 2)
        cv2.line(tile, (int(a), int(b)), (int(a + rng.normal(0, 60)), int(b + rng.normal(0, 60))),
                 (BENCHES[shot.bench][0] + float(rng.normal(0, 7)), *BENCHES[shot.bench][1:]), 1)  # fmt: skip
    rgb = cv2.cvtColor(tile, cv2.COLOR_Lab2RGB)
    seen = cv2.remap(rgb, x / cell, y / cell, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP)
    # The board's soft shadow on the bench, to the side away from the lamp.
    spread = 0.8 * board.thickness_mm
    dx = np.maximum(np.maximum(-x, x - board.length_mm), 0)
    dy = np.maximum(np.maximum(-(y + spread * 0.5), y - board.width_mm), 0)
    near = np.exp(-((dx**2 + dy**2) / (2 * (0.6 * spread) ** 2)))
    return seen * (1 - 0.45 * near[..., None])


def _sides(
    scene: npt.NDArray[np.float32], camera: Camera, board: DrawnBoard, texture: npt.NDArray[np.uint8]
) -> None:
    length, width, high = board.length_mm, board.width_mm, board.thickness_mm
    ring = [(0, 0), (length, 0), (length, width), (0, width)]
    base = texture.reshape(-1, 3)[::997].mean(0) / 255
    for k in range(4):
        (ax, ay), (bx, by) = ring[k], ring[(k + 1) % 4]
        along = np.linspace(0, 1, 24)
        top = np.column_stack([ax + (bx - ax) * along, ay + (by - ay) * along, np.full(24, high)])
        low = top[::-1] * (1, 1, 0)
        quad = camera.project(np.vstack([top, low]))
        shade = (0.55, 0.75, 0.8, 0.65)[k]
        cv2.fillPoly(
            scene,
            [np.round(quad * 16).astype(np.int32)],
            tuple(float(v) for v in base * shade),
            cv2.LINE_AA,
            4,
        )


def _face(
    scene: npt.NDArray[np.float32], camera: Camera,
    rays: tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]], board: DrawnBoard,
    texture: npt.NDArray[np.uint8], shot: Shot,
) -> None:  # fmt: skip
    x, y = camera.on_plane(rays, board.thickness_mm)
    px_per_mm = shot.focal * max(shot.size) / np.linalg.norm(camera.place[2] - board.thickness_mm)
    scale = min(1.0, 1.4 * px_per_mm * board.mm_per_px)
    small = (
        cv2.resize(texture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        if scale < 0.95
        else texture
    )
    rows, columns = small.shape[:2]
    col = (x * (columns / board.length_mm) - 0.5).astype(np.float32)
    row = ((board.width_mm - y) * (rows / board.width_mm) - 0.5).astype(np.float32)
    seen = cv2.remap(small, col, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    ramp = np.minimum(np.minimum(x, board.length_mm - x), np.minimum(y, board.width_mm - y)) * px_per_mm
    alpha = np.clip(ramp + 0.5, 0, 1)[..., None]
    scene *= 1 - alpha
    scene += alpha * (seen.astype(np.float32) / 255)


def _light(rng: Rng, shot: Shot) -> npt.NDArray[np.float32]:
    columns, rows = shot.size
    u = np.linspace(-1, 1, columns, dtype=np.float32)[None]
    v = np.linspace(-1, 1, rows, dtype=np.float32)[:, None] * rows / columns
    angle = rng.uniform(0, 2 * np.pi)
    light = 0.95 + shot.uneven * (u * np.cos(angle) + v * np.sin(angle)) - 0.12 * (u * u + v * v)
    if shot.shadow:
        edge = u * np.cos(angle + 0.7) + v * np.sin(angle + 0.7) - rng.uniform(-0.3, 0.3)
        light *= 1 - shot.shadow / (1 + np.exp(-edge * 14))
    return light.astype(np.float32)


def _linear(srgb: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    return np.asarray(np.clip(srgb, 0, 1) ** np.float32(2.2), np.float32)
