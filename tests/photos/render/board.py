"""A whole board from a seed: both faces drawn, and the truth about every flaw on them."""

from dataclasses import dataclass, field

import cv2
import numpy as np
import numpy.typing as npt

from tests.photos.render import flaws, nuisances
from tests.photos.render.flaws import Canvas, Truth
from tests.photos.render.species import LOOKS, Look
from tests.photos.render.texture import KnotPlace, Rng, a_log, clear_wood, grain

ALL_FLAWS = ("crack", "checks", "split", "bark", "sound_knot", "unsound_knot", "gum_vein", "gum_pocket",
             "holes", "wane", "stain", "pith")  # fmt: skip
ALL_NUISANCES = ("saw", "scratches", "pencil", "step", "dust")


@dataclass
class DrawnBoard:
    """faces: {"A"|"B": (rows, columns, 3) uint8 RGB}. truths: the flaws of each face, in mm."""

    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    mm_per_px: float
    faces: dict[str, npt.NDArray[np.uint8]] = field(default_factory=dict)
    truths: dict[str, list[Truth]] = field(default_factory=dict)


def draw_board(
    seed: int, species: str, length_mm: float = 1200, width_mm: float = 160, thickness_mm: float = 30,
    mm_per_px: float = 0.25, wanted: tuple[str, ...] | None = None, marks: tuple[str, ...] | None = None,
    faces: tuple[str, ...] = ("A",),
) -> DrawnBoard:  # fmt: skip
    """A board. wanted: the flaws, in order; None for a few at random. marks: the nuisances, likewise."""
    rng = np.random.default_rng(seed)
    look = LOOKS[species]
    if wanted is None:
        wanted = tuple(rng.choice(ALL_FLAWS, size=rng.integers(2, 6), replace=True))
    if marks is None:
        marks = tuple(mark for mark in ALL_NUISANCES if rng.random() < 0.4)
    log = a_log(rng, length_mm, width_mm)
    knots = _places(rng, wanted, length_mm, width_mm)
    board = DrawnBoard(species, length_mm, width_mm, thickness_mm, mm_per_px)
    shape = (round(width_mm / mm_per_px), round(length_mm / mm_per_px))
    field_ = grain(log, shape, mm_per_px, [place for _, place in knots])
    plan_seed = int(rng.integers(1 << 31))
    for face in faces:
        own = np.random.default_rng((seed, ord(face)))
        lab = clear_wood(own, look, log, field_, mm_per_px, 0 if face == "A" else thickness_mm)
        canvas = Canvas(lab, field_, mm_per_px)
        # Through flaws share their places on both faces; what is on the surface is each face's own.
        shared = np.random.default_rng(plan_seed)
        for kind, place in knots:
            flaws.knot(canvas, own, look, place, kind == "sound_knot", hole=own.random() < 0.3)
        for kind in wanted:
            _draw(canvas, shared, own, look, kind, face)
        for mark in marks:
            _mark(canvas, own, mark)
        board.faces[face] = to_rgb(lab)
        board.truths[face] = canvas.truths
    return board


def to_rgb(lab: npt.NDArray[np.float32]) -> npt.NDArray[np.uint8]:
    """CIELAB to 8-bit sRGB."""
    lab[..., 0] = lab[..., 0].clip(1, 98)
    return np.round(cv2.cvtColor(lab, cv2.COLOR_Lab2RGB) * 255).clip(0, 255).astype(np.uint8)


def _places(
    rng: Rng, wanted: tuple[str, ...], length_mm: float, width_mm: float
) -> list[tuple[str, KnotPlace]]:
    places: list[tuple[str, KnotPlace]] = []
    for kind in wanted:
        if not kind.endswith("knot"):
            continue
        for _ in range(20):
            radius = float(np.exp(rng.uniform(np.log(3), np.log(min(18, width_mm / 8)))))
            place = KnotPlace(rng.uniform(0.06, 0.94) * length_mm, rng.uniform(0.12, 0.88) * width_mm, radius)
            if all(np.hypot(p.x - place.x, p.y - place.y) > 4 * (p.radius_mm + radius) for _, p in places):
                places.append((kind, place))
                break
    return places


def _draw(canvas: Canvas, shared: Rng, own: Rng, look: Look, kind: str, face: str) -> None:
    length, width = canvas.length_mm, canvas.width_mm
    through = kind in ("crack", "split") and shared.random() < 0.4
    rng = shared if through else own
    x, y = rng.uniform(0.08, 0.92) * length, rng.uniform(0.1, 0.9) * width
    dark_bark = (16.0 + 0.08 * look.early[0], 7.0, 9.0)
    if kind == "crack":
        reach = float(np.exp(rng.uniform(np.log(30), np.log(260))))
        x0 = float(np.clip(x - reach / 2, 3, length - reach - 3))
        flaws.crack(canvas, rng, x0, x0 + reach, y, rng.uniform(0.4, 1.6), through=through)
    elif kind == "split":
        reach = float(rng.uniform(40, 200))
        at_start = rng.random() < 0.5
        x0, x1 = (0.0, reach) if at_start else (length - reach, length)
        flaws.crack(canvas, rng, x0, x1, y, rng.uniform(0.8, 2.5), "split", through=through)
    elif kind == "checks":
        flaws.checks(canvas, rng, x, y, int(rng.integers(2, 5)))
    elif kind == "bark":
        along = float(rng.uniform(8, 40))
        flaws.blob(canvas, rng, "bark_inclusion", x, y, along, along * rng.uniform(0.15, 0.35), dark_bark)
    elif kind == "gum_pocket":
        along = float(rng.uniform(8, 35))
        flaws.blob(canvas, rng, "gum_pocket", x, y, along, rng.uniform(1.5, 4.5), look.gum, 0.92, 0.08)
    elif kind == "gum_vein":
        reach = float(rng.uniform(80, 400))
        x0 = float(np.clip(x - reach / 2, 2, max(3, length - reach - 2)))
        flaws.gum_vein(canvas, rng, look, x0, min(x0 + reach, length - 2), y, rng.uniform(1.0, 2.5))
    elif kind == "holes":
        flaws.holes(canvas, rng, x, y, int(rng.integers(1, 5)))
    elif kind == "wane":
        reach = float(rng.uniform(150, 500))
        flaws.wane(canvas, rng, x - reach / 2, x + reach / 2, rng.uniform(5, 16), int(rng.integers(1, 3)))
    elif kind == "stain":
        flaws.blob(canvas, rng, "stain", x, y, rng.uniform(40, 120), rng.uniform(6, 14),
                   (look.early[0] * 0.72, 0, 6), 0.6, 0.2, 4.0)  # fmt: skip
    elif kind == "pith":
        flaws.blob(canvas, rng, "pith", x, y, rng.uniform(20, 90), rng.uniform(1.5, 3),
                   (look.early[0] * 0.6, 10, 20), 0.8, 0.15, 0.6, 0.02)  # fmt: skip


def _mark(canvas: Canvas, rng: Rng, mark: str) -> None:
    if mark == "saw":
        nuisances.saw_marks(canvas, rng)
    elif mark == "scratches":
        nuisances.scratches(canvas, rng, int(rng.integers(3, 12)))
    elif mark == "pencil":
        nuisances.pencil(canvas, rng)
    elif mark == "step":
        nuisances.tone_step(canvas, rng)
    elif mark == "dust":
        nuisances.dust(canvas, rng)
