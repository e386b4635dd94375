"""What is on a face and is no defect: saw marks, scratches, pencil, a step of tone, dust."""

import cv2
import numpy as np

from tests.photos.render.flaws import Canvas
from tests.photos.render.texture import Rng, noise


def saw_marks(canvas: Canvas, rng: Rng) -> None:
    """Faint arcs across the board, every few millimetres, as a circular or band saw leaves them."""
    rows, columns = canvas.lab.shape[:2]
    x = np.arange(columns, dtype=np.float32)[None] * canvas.mm_per_px
    y = np.arange(rows, dtype=np.float32)[:, None] * canvas.mm_per_px
    pitch, bend = rng.uniform(2.5, 7), rng.uniform(0, 0.0015)
    wave = np.sin((x + bend * (y - canvas.width_mm / 2) ** 2 + 0.15 * y) * (2 * np.pi / pitch))
    patchy = np.clip(noise(rng, (rows, columns), 60 / canvas.mm_per_px, 200 / canvas.mm_per_px) + 0.3, 0, 1)
    canvas.lab[..., 0] += (wave * patchy * rng.uniform(0.6, 1.5)).astype(np.float32)


def _stroke(
    canvas: Canvas, points: list[tuple[float, float]], width_mm: float, change: float, grey: float
) -> None:
    """A line of the pen: `change` added to lightness, colour pulled towards grey."""
    fine = np.array([[x, canvas.width_mm - y] for x, y in points]) / canvas.mm_per_px
    pad = width_mm / canvas.mm_per_px + 3
    low = np.maximum(np.floor(fine.min(0) - pad).astype(int), 0)
    high = np.minimum(np.ceil(fine.max(0) + pad).astype(int), canvas.lab.shape[1::-1])
    if (high <= low).any():
        return
    mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
    path = np.round((fine - low) * 16).astype(np.int32)
    cv2.polylines(mask, [path], False, 255, max(1, round(width_mm / canvas.mm_per_px)), cv2.LINE_AA, 4)
    share = (mask.astype(np.float32) / 255) * min(1.0, width_mm / canvas.mm_per_px)
    part = canvas.lab[low[1] : high[1], low[0] : high[0]]
    part[..., 0] += share * change
    part[..., 1:] *= 1 - (share * grey)[..., None]


def scratches(canvas: Canvas, rng: Rng, count: int) -> None:
    """Pale scratches, mostly across the grain."""
    for _ in range(count):
        x, y = rng.uniform(0, canvas.length_mm), rng.uniform(0, canvas.width_mm)
        angle = np.pi / 2 + rng.normal(0, 0.5)
        reach = rng.uniform(8, 60) / 2
        ends = [(x - reach * np.cos(angle), y - reach * np.sin(angle)),
                (x + reach * np.cos(angle), y + reach * np.sin(angle))]  # fmt: skip
        _stroke(canvas, ends, rng.uniform(0.2, 0.5), rng.uniform(4, 12), 0.3)


def pencil(canvas: Canvas, rng: Rng) -> None:
    """A squared line and a number, in soft pencil."""
    x = rng.uniform(0.15, 0.85) * canvas.length_mm
    _stroke(canvas, [(x, 4), (x + rng.normal(0, 1), canvas.width_mm - 4)], 0.5, -13, 0.6)
    digit = {"1": [(0, 0), (0, 20)], "4": [(8, 20), (0, 8), (11, 8)], "7": [(0, 20), (11, 20), (4, 0)],
             "2": [(0, 17), (5, 21), (10, 16), (0, 0), (11, 0)]}  # fmt: skip
    y = rng.uniform(0.2, 0.6) * canvas.width_mm
    for place, name in enumerate(rng.choice(list(digit), 2)):
        _stroke(canvas, [(x + 12 + 16 * place + a, y + b) for a, b in digit[name]], 0.7, -14, 0.6)


def tone_step(canvas: Canvas, rng: Rng) -> None:
    """One side of the board a little lighter: planed with a nicked knife, or weathered under a sticker."""
    row = int(rng.uniform(0.3, 0.7) * canvas.lab.shape[0])
    canvas.lab[:row, :, 0] += rng.uniform(-4, 4)


def dust(canvas: Canvas, rng: Rng) -> None:
    """Pale specks and smears of sawdust."""
    rows, columns = canvas.lab.shape[:2]
    smear = np.clip(noise(rng, (rows, columns), 30 / canvas.mm_per_px, 70 / canvas.mm_per_px) - 1.2, 0, 1)
    canvas.lab[..., 0] += smear * 5
    canvas.lab[..., 2] += smear * 2
    for _ in range(int(canvas.length_mm * canvas.width_mm / 9000)):
        x, y = rng.uniform(0, canvas.length_mm), rng.uniform(0, canvas.width_mm)
        curl = [
            (x, y),
            (x + rng.normal(0, 2), y + rng.normal(0, 2)),
            (x + rng.normal(0, 3), y + rng.normal(0, 3)),
        ]
        _stroke(canvas, curl, rng.uniform(0.3, 0.8), 14, 0.1)
