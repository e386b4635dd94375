"""The clear wood of a face: the run of its grain, growth rings, pores and figure."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from tests.photos.render.species import Look

Field = npt.NDArray[np.float32]
Rng = np.random.Generator


@dataclass(frozen=True)
class KnotPlace:
    """x, y: its centre [mm, board frame]. radius_mm: half its width across the board."""

    x: float
    y: float
    radius_mm: float


@dataclass(frozen=True)
class Log:
    """Where a board was in its tree; the same for both faces. pith_y, pith_z: of the pith [mm]."""

    pith_y: float
    pith_z: float
    sway: Field  # how far the grain has swayed across the board, every 20 mm along it [mm]
    lean: Field  # the same, towards face A
    ring_jitter: Field
    sapwood_mm: float  # width of sapwood at edge 2, 0 for none


def noise(rng: Rng, shape: tuple[int, int], rows_px: float, columns_px: float) -> Field:
    """Smooth noise of mean 0 and spread about 1, its lumps rows_px by columns_px."""
    grid = (int(shape[0] / rows_px) + 4, int(shape[1] / columns_px) + 4)
    coarse = rng.standard_normal(grid).astype(np.float32)
    # Only the needed part of the grid is stretched: one lump for every rows_px x columns_px.
    turn = np.array([[1 / columns_px, 0, 1], [0, 1 / rows_px, 1]], np.float32)
    return cv2.warpAffine(coarse, turn, shape[::-1], flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP) * 1.25


def a_log(rng: Rng, length_mm: float, width_mm: float) -> Log:
    """A board's place in a tree: flat sawn more often than quarter sawn."""
    flat = rng.random() < 0.65
    stations = int(length_mm / 20) + 3
    sway = noise(rng, (1, stations), 1, 18)[0] * 4 + noise(rng, (1, stations), 1, 7)[0] * 0.8
    return Log(
        pith_y=width_mm * rng.uniform(0.2, 0.8) if flat else -rng.uniform(40, 160),
        pith_z=-rng.uniform(25, 110) if flat else rng.uniform(-30, 30),
        sway=sway.astype(np.float32),
        lean=(noise(rng, (1, stations), 1, 22)[0] * 6).astype(np.float32),
        ring_jitter=np.cumsum(rng.uniform(0.55, 1.45, 400)).astype(np.float32),
        sapwood_mm=float(rng.uniform(12, 40)) if rng.random() < 0.25 else 0.0,
    )


def grain(log: Log, shape: tuple[int, int], mm_per_px: float, knots: list[KnotPlace]) -> Field:
    """What to add to y for the grain line through each point; along one, y + grain is constant. [mm]"""
    rows, columns = shape
    x = (np.arange(columns, dtype=np.float32) + 0.5) * mm_per_px
    y = (rows - np.arange(rows, dtype=np.float32) - 0.5)[:, None] * mm_per_px
    swayed = np.broadcast_to(np.interp(x, np.arange(len(log.sway)) * 20, log.sway).astype(np.float32), shape)
    field = swayed.copy()
    for knot in knots:
        reach = 6 * knot.radius_mm
        left, right = np.searchsorted(x, (knot.x - reach, knot.x + reach))
        dx, dy = x[None, left:right] - knot.x, y - knot.y
        # Fibres part around the knot: pushed outwards most beside it, over about three radii along.
        push = np.exp(-((dx / (2.6 * knot.radius_mm)) ** 2) - (dy / (1.9 * knot.radius_mm)) ** 2)
        field[:, left:right] -= (np.tanh(dy / (0.5 * knot.radius_mm)) * 0.85 * knot.radius_mm * push).astype(
            np.float32
        )
    return field


def clear_wood(
    rng: Rng, look: Look, log: Log, field: Field, mm_per_px: float, depth_mm: float
) -> npt.NDArray[np.float32]:
    """The face as CIELAB (rows, columns, 3), float32. depth_mm: of this face below face A."""
    rows, columns = shape = field.shape
    x = (np.arange(columns, dtype=np.float32) + 0.5) * mm_per_px
    y = (rows - np.arange(rows, dtype=np.float32) - 0.5)[:, None] * mm_per_px + field
    lean = np.interp(x, np.arange(len(log.lean)) * 20, log.lean).astype(np.float32)
    radius = np.hypot(y - log.pith_y, lean - depth_mm - log.pith_z) / look.ring_mm
    radius += noise(rng, shape, 25 / mm_per_px, 160 / mm_per_px) * 0.12
    which = np.interp(radius, log.ring_jitter, np.arange(len(log.ring_jitter)))
    part = (which - np.floor(which)).astype(np.float32)
    late = np.clip((part - (1 - look.late_share)) / look.late_share, 0, 1) ** 1.6
    late *= np.clip((1 - part) / 0.06, 0, 1)  # the next spring's wood begins abruptly
    year = np.random.default_rng(7).uniform(0.55, 1.0, 512).astype(np.float32)
    late *= look.ring_contrast * year[np.clip(which, 0, 511).astype(np.int32)]

    lab = np.empty((*shape, 3), np.float32)
    for channel in range(3):
        lab[..., channel] = look.early[channel] + (look.late[channel] - look.early[channel]) * late
    if log.sapwood_mm:
        edge = (
            y - (rows * mm_per_px - log.sapwood_mm) + noise(rng, shape, 8 / mm_per_px, 90 / mm_per_px) * 2.5
        )
        share = np.clip(edge / 5 + 0.5, 0, 1)[..., None]
        lab += share * 0.9 * (np.array(look.sapwood, np.float32) - np.array(look.early, np.float32))
    _add_figure(rng, look, lab, mm_per_px)
    _add_pores(rng, look, lab, part, mm_per_px)
    return lab


def _add_figure(rng: Rng, look: Look, lab: npt.NDArray[np.float32], mm_per_px: float) -> None:
    shape = lab.shape[:2]
    fibre = noise(rng, shape, max(1, 0.35 / mm_per_px), 22 / mm_per_px) * 0.9
    fibre += noise(rng, shape, 1.6 / mm_per_px, 60 / mm_per_px) * 0.8
    cloud = noise(rng, shape, 60 / mm_per_px, 260 / mm_per_px)
    lab[..., 0] += fibre + cloud * 1.6
    lab[..., 2] += cloud * 0.8
    if look.fiddleback:
        wave = noise(rng, shape, 28 / mm_per_px, 7 / mm_per_px)
        where = np.clip(noise(rng, shape, 50 / mm_per_px, 220 / mm_per_px) + 0.2, 0, 1)
        lab[..., 0] += wave * where * 2.6 * look.fiddleback
    if look.ribbon:
        lab[..., 0] += noise(rng, shape, 14 / mm_per_px, 400 / mm_per_px) * 1.8 * look.ribbon


def _add_pores(rng: Rng, look: Look, lab: npt.NDArray[np.float32], part: Field, mm_per_px: float) -> None:
    if look.pores == "none":
        return
    shape = part.shape
    chance = np.full(shape, look.pore_share, np.float32)
    if look.pores == "ring":
        chance *= np.where(part < 0.3, 2.6, 0.25).astype(np.float32)
    long_px, wide_px = look.pore_mm / mm_per_px, max(1.0, 0.22 / mm_per_px)
    seeds = (rng.random(shape, np.float32) < chance / (long_px * wide_px)).astype(np.float32)
    # A vessel cut lengthways: a streak a few millimetres long and a fifth of one wide.
    streak = np.ones((max(1, round(wide_px)), max(1, round(long_px))), np.float32)
    open_pores = cv2.GaussianBlur(cv2.filter2D(np.minimum(seeds, 1), -1, streak), (0, 0), 0.5)
    lab[..., 0] -= np.minimum(open_pores, 1.2) * (9 + 0.1 * look.early[0])
