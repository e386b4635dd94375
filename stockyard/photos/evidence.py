"""What each point of a face tells about flaws: contrasts measured against the wood around it.

A face is read with its grain along the columns. All sizes are millimetres on the board, so that a picture's
resolution does not change what is measured, as far as it shows it. Tone is on a logarithmic scale (a tenth
darker is the same step on pale and on dark wood), so that light that varies slowly drops out of every
difference.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2

Field = npt.NDArray[np.float32]
Mask = npt.NDArray[np.uint8]

TONE = 30.0  # one unit of tone is about 3.3 % of the light
_FLOOR = 0.015  # what a black hole still reflects into the lens; keeps the logarithm from running away
_SLOPES = (-0.24, -0.12, 0.0, 0.12, 0.24)  # across per along, of lines looked for

NAMES = (
    "dark_2", "dark_8", "dark_30", "dark_board", "red_30", "yellow_30", "fine_line", "wide_line", "long_line",
    "short_along_8", "short_along_25", "pit_3", "pit_10", "grain_broken", "grain_edge", "rough", "red",
    "yellow", "flat_line", "pale_30", "red_6", "yellow_6", "thin_line",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Evidence:
    """fields: one (rows, columns) float32 for each of NAMES, stacked last. mm: (across, along) of a pixel."""

    fields: Field
    mm: tuple[float, float]


def gather(pixels: Pixels, mask: Mask, mm: tuple[float, float]) -> Evidence:
    """Measure a face.

    pixels: (rows across, columns along, 3) RGB. mask: (rows, columns), 255 on the board. mm: (across, along)
    of a pixel.
    """
    tone, red, yellow = _tone_and_hue(pixels)
    tone, red, yellow = (_beyond_the_edge(one, mask, mm) for one in (tone, red, yellow))
    inside = mask > 0
    usual = [
        float(np.median(one[::3, ::3][inside[::3, ::3]])) if inside.any() else 0.0
        for one in (tone, red, yellow)
    ]
    wide = _wide_median(tone, mm, 30.0)
    near = _wide_median(tone, mm, 8.0)
    soft = _box(tone, mm, 0.6, 1.0)
    fine = _lines(_valley(tone, mm, 1.3), mm, 7.0)
    broad = _lines(_valley(tone, mm, 4.0), mm, 10.0)
    long = _lines(_valley(tone, mm, 1.6), mm, 24.0)
    edge_along = np.asarray(np.abs(cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3)) / (8 * mm[1]), np.float32)
    edge_across = np.asarray(np.abs(cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3)) / (8 * mm[0]), np.float32)
    broken, ringed = _box(edge_along, mm, 4.0, 4.0), _box(edge_across, mm, 4.0, 4.0)
    dark_30 = wide - soft
    values = {
        "dark_2": _box(tone, mm, 2.5, 2.5) - soft,
        "dark_8": near - soft,
        "dark_30": dark_30,
        "dark_board": usual[0] - soft,
        "red_30": red - _wide_median(red, mm, 30.0),
        "yellow_30": yellow - _wide_median(yellow, mm, 30.0),
        "fine_line": fine,
        "wide_line": broad,
        "long_line": long,
        "short_along_8": _closing(soft, mm, 0.0, 8.0) - soft,
        "short_along_25": _closing(soft, mm, 0.0, 25.0) - soft,
        "pit_3": _closing(soft, mm, 3.0, 4.0) - soft,
        "pit_10": _closing(soft, mm, 10.0, 14.0) - soft,
        "grain_broken": broken * 4,
        "grain_edge": ringed * 4,
        "rough": _box(np.abs(tone - soft), mm, 6.0, 10.0) * 4,
        "red": red - usual[1],
        "yellow": yellow - usual[2],
        # A ring's latewood is a line too, but goes on past the ends of this one.
        "flat_line": _box(dark_30, mm, 0.8, 60.0),
        "pale_30": _box(-dark_30, mm, 3.0, 6.0),
        # A crack is dark without colour; latewood and gum are dark and redder than what lies beside them.
        "red_6": _box(red, mm, 0.6, 5.0) - _box(red, mm, 6.0, 5.0),
        "yellow_6": _box(yellow, mm, 0.6, 5.0) - _box(yellow, mm, 6.0, 5.0),
        "thin_line": _lines(_valley(tone, mm, 0.5), mm, 9.0),
    }
    fields = np.empty((*tone.shape, len(NAMES)), np.float32)
    for k, name in enumerate(NAMES):
        fields[..., k] = values[name]
    return Evidence(fields, mm)


def _tone_and_hue(pixels: Pixels) -> tuple[Field, Field, Field]:
    """Tone; red against green, yellow against blue, on the same scale, so free of how much light there is."""
    curve = (TONE * np.log((np.arange(256) / 255.0) ** 2.2 + _FLOOR)).astype(np.float32)
    red, green, blue = (cv2.LUT(np.ascontiguousarray(pixels[..., k]), curve) for k in range(3))
    tone = 0.3 * red + 0.6 * green + 0.1 * blue
    return tone, red - green, 0.5 * (red + green) - blue


def _px(mm: float, scale: float) -> int:
    """An odd number of pixels nearest to a size."""
    return max(1, 2 * round((mm / scale - 1) / 2) + 1)


def _box(field: Field, mm: tuple[float, float], across_mm: float, along_mm: float) -> Field:
    size = (_px(along_mm, mm[1]), _px(across_mm, mm[0]))
    return field if size == (1, 1) else np.asarray(cv2.blur(field, size, borderType=cv2.BORDER_REFLECT))


def _closing(field: Field, mm: tuple[float, float], across_mm: float, along_mm: float) -> Field:
    """Dark things smaller than the window filled in."""
    kernel = np.ones((_px(across_mm, mm[0]), _px(along_mm, mm[1])), np.uint8)
    return np.asarray(cv2.morphologyEx(field, cv2.MORPH_CLOSE, kernel, borderType=cv2.BORDER_REFLECT))


def _valley(field: Field, mm: tuple[float, float], width_mm: float) -> Field:
    """How much darker than both sides, across the grain, within a width."""
    tall = max(3, _px(2.0 * width_mm, mm[0]))
    kernel = np.ones((tall, 1), np.uint8)
    return np.asarray(cv2.morphologyEx(field, cv2.MORPH_BLACKHAT, kernel, borderType=cv2.BORDER_REFLECT))


def _lines(valley: Field, mm: tuple[float, float], length_mm: float) -> Field:
    """The greatest mean of a valley over a straight run, over a few slopes to the grain."""
    reach = _px(length_mm, mm[1]) // 2
    best: Field | None = None
    for slope in _SLOPES:
        rise = slope * mm[1] / mm[0]
        half = max(0, round(abs(rise) * reach))
        kernel = np.zeros((2 * half + 1, 2 * reach + 1), np.float32)
        for step in range(-reach, reach + 1):
            at = half + rise * step
            low = int(np.floor(at))
            for row, share in ((low, 1 - (at - low)), (low + 1, at - low)):
                if 0 <= row <= 2 * half:
                    kernel[row, step + reach] += share
        run = cv2.filter2D(valley, cv2.CV_32F, kernel / kernel.sum(), borderType=cv2.BORDER_REFLECT)
        best = np.asarray(run if best is None else np.maximum(best, run), np.float32)
    assert best is not None
    return best


def _wide_median(field: Field, mm: tuple[float, float], window_mm: float) -> Field:
    """The median over a square window, on a grid of a ninth of it."""
    step = window_mm / 9
    rows = max(9, round(field.shape[0] * mm[0] / step))
    columns = max(9, round(field.shape[1] * mm[1] / step))
    rows, columns = min(rows, field.shape[0]), min(columns, field.shape[1])
    small = cv2.resize(field, (columns, rows), interpolation=cv2.INTER_AREA)
    low, high = float(small.min()), float(small.max())
    span = max(high - low, 1e-3)
    eight = np.round((small - low) * (255 / span)).astype(np.uint8)
    middle = cv2.medianBlur(cv2.copyMakeBorder(eight, 4, 4, 4, 4, cv2.BORDER_REFLECT), 9)[4:-4, 4:-4]
    smooth = cv2.GaussianBlur(middle.astype(np.float32), (0, 0), 1.0) * (span / 255) + low
    return np.asarray(cv2.resize(smooth, field.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def _beyond_the_edge(field: Field, mask: Mask, mm: tuple[float, float]) -> Field:
    """The board continued past its edges, so that the background makes no contrast."""
    if mask.all():
        return field
    filled = field.copy()
    known = (mask > 0).astype(np.float32)
    for window in (6.0, 30.0, 120.0):
        weight = _box(known, mm, window, window)
        mean = _box(filled * known, mm, window, window) / np.maximum(weight, 1e-4)
        new = (known == 0) & (weight > 0.02)
        filled[new] = mean[new]
        known[new] = 1
    if known.all():
        return filled
    filled[known == 0] = filled[known > 0].mean() if known.any() else 0.0
    return filled
