"""Rendered faces of many timbers, flawed and clear, with exact marks.

Drawn by the project's own renderer, which is kept with the tests: a clone has it, an installed package has
not. The looks of its timbers are shaken (colour, rings, pores, figure), so that no board is met twice.
"""

from collections.abc import Iterable
from dataclasses import replace
from multiprocessing import get_context

import cv2
import numpy as np
import numpy.typing as npt

from stockyard.photos.classes import CLASSES, READ_MM
from stockyard.photos.training.marked import Bytes, Marked
from tests.photos.render import flaws, nuisances
from tests.photos.render.board import to_rgb
from tests.photos.render.flaws import Canvas
from tests.photos.render.species import LOOKS, Lab, Look
from tests.photos.render.texture import KnotPlace, Rng, a_log, clear_wood, grain, noise

LENGTH_MM, WIDTH_MM = 300.0, 220.0
_CLASS_OF = {
    "sound_knot": "sound_knot", "unsound_knot": "unsound_knot", "borer_hole": "unsound_knot",
    "crack": "crack", "check": "crack", "split": "crack", "gum_vein": "gum", "gum_pocket": "gum",
    "bark_inclusion": "bark", "pith": "pith", "stain": "stain", "wane": "wane",
}  # fmt: skip
# Later ones lie on top of earlier ones.
_ORDER = ("stain", "wane", "sound_knot", "unsound_knot", "pith", "bark", "gum", "crack")
_OFTEN = {
    "crack": 0.25, "split": 0.08, "checks": 0.1, "bark": 0.13, "pocket": 0.12, "vein": 0.1, "holes": 0.06,
    "wane": 0.05, "stain": 0.06, "pith": 0.05,
}  # fmt: skip
_FINE = 0.25  # drawn at this pixel [mm], then halved along the grain
_LEAST_CRACK_MM = 0.8  # a mark no finer than what the answer's scale can hold


def draw_faces(seeds: Iterable[int], workers: int = 1) -> Marked:
    """A face for each seed, at the reading scale, its board in a larger field of ground."""
    seeds = list(seeds)
    if workers > 1:
        with get_context("spawn").Pool(workers) as pool:
            drawn = pool.map(draw_face, seeds, chunksize=4)
    else:
        drawn = [draw_face(seed) for seed in seeds]
    return Marked(
        tuple(f"drawn-{seed}" for seed in seeds),
        np.stack([picture for picture, _ in drawn]),
        np.stack([marks for _, marks in drawn]),
        READ_MM,
    )


def draw_face(seed: int) -> tuple[Bytes, Bytes]:
    """(rows, columns, 3) RGB and (rows, columns) labels of one face with what may be on it."""
    cv2.setNumThreads(1)
    rng = np.random.default_rng((17, seed))
    look = _shaken(rng, LOOKS[str(rng.choice(list(LOOKS)))])
    width = float(rng.uniform(70, WIDTH_MM))
    log = a_log(rng, LENGTH_MM, width)
    places = _knots(rng, width)
    shape = (round(width / _FINE), round(LENGTH_MM / _FINE))
    run = grain(log, shape, _FINE, [place for place, _ in places])
    canvas = Canvas(clear_wood(rng, look, log, run, _FINE, 0), run, _FINE)
    _streaks(canvas, rng)
    for place, sound in places:
        flaws.knot(canvas, rng, look, place, sound, hole=bool(rng.random() < 0.3))
        if rng.random() < 0.25:
            _bark(
                canvas, rng, look, place.x + rng.normal(0, 4), place.y + place.radius_mm * rng.choice([-1, 1])
            )
    if rng.random() > 0.15:
        for _ in range(int(rng.integers(0, 7))):
            _flaw(canvas, rng, look, [place for place, _ in places])
    _marks(canvas, rng)
    return _on_ground(canvas, rng)


def _shaken(rng: Rng, look: Look) -> Look:
    move = np.array([rng.normal(0, 6), rng.normal(0, 3), rng.normal(0, 4)])
    apart = rng.uniform(0.6, 1.5)

    def moved(lab: Lab, share: float = 1.0) -> Lab:
        first = np.array(look.early)
        out = first + (np.array(lab) - first) * (apart if share == 1.0 else 1.0) + move * share
        return (float(np.clip(out[0], 5, 95)), float(out[1]), float(out[2]))

    pores = look.pores if rng.random() < 0.7 else str(rng.choice(["none", "diffuse", "ring"]))
    return replace(
        look, early=moved(look.early), late=moved(look.late), sapwood=moved(look.sapwood),
        gum=moved(look.gum, 0.6), ring_mm=look.ring_mm * float(np.exp(rng.uniform(-0.9, 0.7))),
        late_share=float(np.clip(look.late_share * rng.uniform(0.6, 1.5), 0.12, 0.75)),
        ring_contrast=float(np.clip(look.ring_contrast * rng.uniform(0.5, 1.5), 0, 1.2)), pores=pores,
        pore_share=0.0 if pores == "none" else float(rng.uniform(0.01, 0.07)),
        pore_mm=float(rng.uniform(1.5, 6)), fiddleback=float(look.fiddleback + rng.uniform(0, 0.6)),
        ribbon=float(look.ribbon + rng.uniform(0, 0.5)),
    )  # fmt: skip


def _knots(rng: Rng, width: float) -> list[tuple[KnotPlace, bool]]:
    places: list[tuple[KnotPlace, bool]] = []
    for _ in range(int(rng.choice([0, 0, 1, 1, 2, 3, 4]))):
        radius = float(np.exp(rng.uniform(np.log(1.3), np.log(min(20, width / 6)))))
        place = KnotPlace(rng.uniform(0, LENGTH_MM), rng.uniform(0.03, 0.97) * width, radius)
        if all(np.hypot(p.x - place.x, p.y - place.y) > 2 * (p.radius_mm + radius) for p, _ in places):
            places.append((place, bool(rng.random() < 0.5)))
    return places


def _bark(canvas: Canvas, rng: Rng, look: Look, x: float, y: float) -> None:
    if rng.random() < 0.4:
        bark_seam(canvas, rng, x, y)
        return
    along = float(np.exp(rng.uniform(np.log(4), np.log(45))))
    dark = (float(rng.uniform(10, 18) + rng.uniform(0, 0.2) * look.early[0]), float(rng.uniform(3, 11)),
            float(rng.uniform(4, 14)))  # fmt: skip
    flaws.blob(canvas, rng, "bark_inclusion", float(x), float(y), along, along * rng.uniform(0.1, 0.4), dark,
               rng.uniform(0.75, 0.97), rng.uniform(0.1, 0.35), rng.uniform(0.2, 0.6))  # fmt: skip


def bark_seam(canvas: Canvas, rng: Rng, x: float, y: float) -> None:
    """Bark grown in along a buried edge: a ragged black band at any slope to the grain, thick and thin."""
    reach, slope = float(np.exp(rng.uniform(np.log(6), np.log(55)))), rng.normal(0, 0.6)
    t = np.linspace(-1, 1, 40)
    bend = rng.normal(0, 0.15) * reach
    along, across = t * reach / 2 * np.cos(slope), t * reach / 2 * np.sin(slope) + bend * (t * t - 1)
    half = rng.uniform(0.4, 3.2) * np.sqrt(1 - t * t) * (1 + 0.5 * noise(rng, (1, 40), 1, 4)[0]).clip(0.15, 2)
    upper = [(float(x + a), float(y + c + h)) for a, c, h in zip(along, across, half, strict=True)]
    lower = [(float(x + a), float(y + c - h)) for a, c, h in zip(along, across, half, strict=True)]
    outline = upper + lower[::-1]
    found = canvas.cover(outline, 2)
    if found is None:
        return
    place, covered = found
    soft = cv2.GaussianBlur(covered, (0, 0), max(0.4, rng.uniform(0.15, 0.5) / canvas.mm_per_px))
    usual = float(np.median(canvas.lab[place][..., 0]))
    colour = (rng.uniform(2, 10) + rng.uniform(0, 0.2) * usual, rng.uniform(1, 8), rng.uniform(1, 12))
    canvas.tint(place, soft * rng.uniform(0.8, 0.98), colour)
    canvas.truths.append(flaws.Truth("bark_inclusion", outline))


def _flaw(canvas: Canvas, rng: Rng, look: Look, knots: list[KnotPlace]) -> None:
    length, width = canvas.length_mm, canvas.width_mm
    x, y = rng.uniform(0, length), rng.uniform(0.04, 0.96) * width
    kind = rng.choice(list(_OFTEN), p=list(_OFTEN.values()))
    if kind in ("crack", "split"):
        reach = float(np.exp(rng.uniform(np.log(15), np.log(320))))
        opening = float(np.exp(rng.uniform(np.log(0.3), np.log(2.5))))
        if knots and rng.random() < 0.2:
            x, y = knots[0].x, knots[0].y
        x0, x1 = x - reach / 2, x + reach / 2
        if kind == "split":
            x0, x1 = (0.0, reach) if rng.random() < 0.5 else (length - reach, length)
        x0, x1 = max(0.0, x0), min(length, x1)
        if x1 - x0 > 8:
            flaws.crack(canvas, rng, x0, x1, y, opening, "split" if kind == "split" else "crack")
    elif kind == "checks":
        flaws.checks(canvas, rng, x, y, int(rng.integers(1, 5)))
    elif kind == "bark":
        _bark(canvas, rng, look, x, y)
    elif kind == "pocket":
        along = float(np.exp(rng.uniform(np.log(3), np.log(35))))
        flaws.blob(canvas, rng, "gum_pocket", x, y, along, rng.uniform(0.8, 4.5), look.gum,
                   rng.uniform(0.7, 0.95), rng.uniform(0.05, 0.15))  # fmt: skip
    elif kind == "vein":
        reach = float(rng.uniform(25, 300))
        x0 = float(np.clip(x - reach / 2, 0, max(1, length - reach)))
        flaws.gum_vein(canvas, rng, look, x0, min(x0 + reach, length), y, rng.uniform(0.8, 3.0))
    elif kind == "holes":
        flaws.holes(canvas, rng, x, y, int(rng.integers(1, 5)))
    elif kind == "wane":
        reach = rng.uniform(60, 500)
        flaws.wane(canvas, rng, x - reach / 2, x + reach / 2, rng.uniform(3, 18), int(rng.integers(1, 3)))
    elif kind == "stain":
        grey = (look.early[0] * rng.uniform(0.6, 0.85), rng.uniform(-3, 2), rng.uniform(0, 9))
        flaws.blob(canvas, rng, "stain", x, y, rng.uniform(30, 160), rng.uniform(4, 16), grey,
                   rng.uniform(0.45, 0.75), 0.2, rng.uniform(1.5, 5))  # fmt: skip
    else:
        flaws.blob(canvas, rng, "pith", x, y, rng.uniform(15, 120), rng.uniform(1, 3),
                   (look.early[0] * 0.6, 10, 20), 0.8, 0.15, 0.6, 0.02)  # fmt: skip


def _streaks(canvas: Canvas, rng: Rng) -> None:
    """Colour that comes and goes along the grain, and is no flaw."""
    for _ in range(int(rng.choice([0, 0, 1, 2, 4]))):
        colour = tuple(canvas.lab.mean((0, 1)) * (rng.uniform(0.75, 0.92), 1.1, 1.0))
        kept = len(canvas.truths)
        flaws.blob(canvas, rng, "streak", rng.uniform(0, canvas.length_mm), rng.uniform(0, canvas.width_mm),
                   rng.uniform(60, 250), rng.uniform(1, 6), colour, rng.uniform(0.3, 0.7), 0.2,
                   rng.uniform(0.8, 2.5), 0.03)  # fmt: skip
        del canvas.truths[kept:]


def _marks(canvas: Canvas, rng: Rng) -> None:
    if rng.random() < 0.5:
        nuisances.saw_marks(canvas, rng)
    if rng.random() < 0.35:
        nuisances.scratches(canvas, rng, int(rng.integers(1, 8)))
    if rng.random() < 0.25:
        nuisances.pencil(canvas, rng)
    if rng.random() < 0.3:
        nuisances.tone_step(canvas, rng)
    if rng.random() < 0.4:
        nuisances.dust(canvas, rng)


def _on_ground(canvas: Canvas, rng: Rng) -> tuple[Bytes, Bytes]:
    field = (round(WIDTH_MM / READ_MM[0]), round(LENGTH_MM / READ_MM[1]))
    marks: Bytes = np.full(canvas.lab.shape[:2], CLASSES.index("clear"), np.uint8)
    found = sorted(
        ((_CLASS_OF[truth.kind], truth) for truth in canvas.truths), key=lambda one: _ORDER.index(one[0])
    )
    for name, truth in found:
        points = np.array(truth.outline_mm) / _FINE
        points[:, 1] = canvas.lab.shape[0] - points[:, 1]
        place = [np.round((points - 0.5) * 16).astype(np.int32)]
        cv2.fillPoly(marks, place, CLASSES.index(name), shift=4)
        if name in ("crack", "gum"):
            thick = max(1, round(_LEAST_CRACK_MM / _FINE))
            cv2.polylines(marks, place, True, CLASSES.index(name), thick - 1, shift=4)
    board = cv2.resize(to_rgb(canvas.lab), (field[1], marks.shape[0]), interpolation=cv2.INTER_AREA)
    marks = np.maximum(marks[:, ::2], marks[:, 1::2])[:, : field[1]]
    picture = _ground(rng, field)
    labels = np.full(field, CLASSES.index("ground"), np.uint8)
    at = int(rng.integers(0, field[0] - board.shape[0] + 1))
    picture[at : at + board.shape[0]] = board
    labels[at : at + board.shape[0]] = marks
    return picture, labels


def _ground(rng: Rng, shape: tuple[int, int]) -> npt.NDArray[np.uint8]:
    """A bench: plain, dark or pale, a little uneven."""
    colour = np.array([rng.uniform(2, 90), rng.normal(0, 4), rng.normal(3, 8)], np.float32)
    lab = np.broadcast_to(colour, (*shape, 3)).astype(np.float32)
    lab[..., 0] += noise(rng, shape, 60, 60) * rng.uniform(0, 4) + noise(rng, shape, 2, 2) * rng.uniform(0, 3)
    return to_rgb(lab)
