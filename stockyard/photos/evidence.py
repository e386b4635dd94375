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
_COARSE_MM = (0.7, 1.4)  # (across, along): the grid for what is measured over several millimetres
_RUN_MM = 1.2  # a line is followed in steps of this
_SLOPES = (-0.24, -0.12, 0.0, 0.12, 0.24)  # across per along, of lines looked for

NAMES = (
    "dark_2", "dark_8", "dark_30", "dark_board", "red_30", "yellow_30", "fine_line", "wide_line", "long_line",
    "short_along_8", "short_along_25", "pit_3", "pit_10", "grain_broken", "grain_edge", "rough", "red",
    "yellow", "flat_line", "pale_30", "red_6", "yellow_6", "thin_line",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was measured of a face.

    fields: for each of NAMES a float32 array, of the face's own shape (rows, columns) or on the grid of every
    `step` (down, right): what is measured over several millimetres needs no finer one. mm: (across, along) of
    a pixel.
    """

    fields: dict[str, Field]
    shape: tuple[int, int]
    step: tuple[int, int]
    mm: tuple[float, float]

    def at(self, rows: npt.NDArray[np.intp], columns: npt.NDArray[np.intp]) -> Field:
        """The values at some points, (n, len(NAMES))."""
        values = np.empty((len(rows), len(NAMES)), np.float32)
        coarse = rows // self.step[0], columns // self.step[1]
        for k, name in enumerate(NAMES):
            field = self.fields[name]
            values[:, k] = field[rows, columns] if field.shape == self.shape else field[coarse]
        return values

    def whole(self, name: str) -> Field:
        """One field on the face's own grid."""
        field = self.fields[name]
        return field if field.shape == self.shape else _to(field, self.shape)


def gather(pixels: Pixels, mask: Mask, mm: tuple[float, float]) -> Evidence:
    """Measure a face.

    pixels: (rows across, columns along, 3) RGB. mask: (rows, columns), 255 on the board. mm: (across, along)
    of a pixel.
    """
    shape = (pixels.shape[0], pixels.shape[1])
    tone, red, yellow = _tone_and_hue(_beyond_the_edge(pixels, mask, mm))
    step = (2 if mm[0] <= _COARSE_MM[0] / 2 else 1, 2 if mm[1] <= _COARSE_MM[1] / 2 else 1)
    half = (mm[0] * step[0], mm[1] * step[1])
    tone_2, red_2, yellow_2 = (_on_grid(one, step) for one in (tone, red, yellow))
    inside = mask[:: 2 * step[0], :: 2 * step[1]] > 0
    usual = [
        float(np.median(one[::2, ::2][inside])) if inside.any() else 0.0 for one in (tone_2, red_2, yellow_2)
    ]
    soft = _box(tone, mm, 0.6, 1.0)
    soft_2 = _on_grid(soft, step)
    near, wide = _wide_median(tone_2, half, 8.0), _wide_median(tone_2, half, 30.0)
    dark_30 = wide - soft_2
    edge_along = np.asarray(np.abs(cv2.Sobel(soft_2, cv2.CV_32F, 1, 0, ksize=3)) / (8 * half[1]), np.float32)
    edge_across = np.asarray(np.abs(cv2.Sobel(soft_2, cv2.CV_32F, 0, 1, ksize=3)) / (8 * half[0]), np.float32)
    values = {
        "dark_2": _box(tone, mm, 2.5, 2.5) - soft,
        "dark_8": _to(near, shape) - soft,
        "dark_30": _to(wide, shape) - soft,
        "dark_board": usual[0] - soft_2,
        "red_30": red_2 - _wide_median(red_2, half, 30.0),
        "yellow_30": yellow_2 - _wide_median(yellow_2, half, 30.0),
        "fine_line": _lines(_valley(tone, mm, 1.3), mm, 7.0),
        "wide_line": _lines(_valley(tone_2, half, 4.0), half, 10.0),
        "long_line": _lines(_valley(tone, mm, 1.6), mm, 24.0),
        "short_along_8": _closing(soft_2, half, 0.0, 8.0) - soft_2,
        "short_along_25": _closing(soft_2, half, 0.0, 25.0) - soft_2,
        "pit_3": _closing(soft, mm, 3.0, 4.0) - soft,
        "pit_10": _closing(soft_2, half, 10.0, 14.0) - soft_2,
        "grain_broken": _box(edge_along, half, 4.0, 4.0) * 4,
        "grain_edge": _box(edge_across, half, 4.0, 4.0) * 4,
        "rough": _box(_on_grid(np.asarray(cv2.absdiff(tone, soft), np.float32), step), half, 6.0, 10.0) * 4,
        "red": red_2 - usual[1],
        "yellow": yellow_2 - usual[2],
        # A ring's latewood is a line too, but goes on past the ends of this one.
        "flat_line": _box(dark_30, half, 0.8, 60.0),
        "pale_30": _box(-dark_30, half, 3.0, 6.0),
        # A crack is dark without colour; latewood and gum are dark and redder than what lies beside them.
        "red_6": _box(red_2, half, 0.6, 5.0) - _box(red_2, half, 6.0, 5.0),
        "yellow_6": _box(yellow_2, half, 0.6, 5.0) - _box(yellow_2, half, 6.0, 5.0),
        "thin_line": _lines(_valley(tone, mm, 0.5), mm, 9.0),
    }
    return Evidence(values, shape, step, mm)


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
    rows, columns = valley.shape
    few = max(1, round(columns * mm[1] / max(_RUN_MM, mm[1])))
    short = np.asarray(cv2.resize(valley, (few, rows), interpolation=cv2.INTER_AREA), np.float32)
    along = mm[1] * columns / few
    reach = _px(length_mm, along) // 2
    best: Field | None = None
    for slope in _SLOPES:
        rise = slope * along / mm[0]
        half = max(0, round(abs(rise) * reach))
        kernel = np.zeros((2 * half + 1, 2 * reach + 1), np.float32)
        for step in range(-reach, reach + 1):
            at = half + rise * step
            low = int(np.floor(at))
            for row, share in ((low, 1 - (at - low)), (low + 1, at - low)):
                if 0 <= row <= 2 * half:
                    kernel[row, step + reach] += share
        run = cv2.filter2D(short, cv2.CV_32F, kernel / kernel.sum(), borderType=cv2.BORDER_REFLECT)
        best = np.asarray(run if best is None else cv2.max(best, run), np.float32)
    assert best is not None
    return _to(best, (rows, columns))


def _to(field: Field, shape: tuple[int, int]) -> Field:
    """A field stretched to a shape."""
    size = (shape[1], shape[0])
    return np.asarray(cv2.resize(field, size, interpolation=cv2.INTER_LINEAR), np.float32)


def _on_grid(field: Field, step: tuple[int, int]) -> Field:
    """The means of step-wise blocks, the last of them perhaps not whole."""
    if step == (1, 1):
        return field
    rows, columns = field.shape
    more = (-rows % step[0], -columns % step[1])
    if any(more):
        field = np.asarray(cv2.copyMakeBorder(field, 0, more[0], 0, more[1], cv2.BORDER_REPLICATE))
    size = (field.shape[1] // step[1], field.shape[0] // step[0])
    return np.asarray(cv2.resize(field, size, interpolation=cv2.INTER_AREA), np.float32)


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
    return _to(np.asarray(smooth, np.float32), field.shape)


def _beyond_the_edge(pixels: Pixels, mask: Mask, mm: tuple[float, float]) -> Pixels:
    """The board continued past its edges and under what covers it, so that neither makes a contrast."""
    unknown = mask == 0
    if not unknown.any():
        return pixels
    rows, columns = mask.shape
    size = (max(8, round(columns * mm[1] / 1.5)), max(8, round(rows * mm[0] / 1.5)))
    size = (min(size[0], columns), min(size[1], rows))
    grid = (rows * mm[0] / size[1], columns * mm[1] / size[0])
    share = cv2.resize((~unknown).astype(np.float32), size, interpolation=cv2.INTER_AREA)
    bare = np.asarray(cv2.bitwise_and(pixels, pixels, mask=(~unknown).astype(np.uint8)), np.uint8)
    light = cv2.resize(bare, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    filled = light / np.maximum(share, 1e-3)[..., None]
    known = (share > 0.3).astype(np.float32)
    for window in (4.0, 12.0, 40.0, 160.0):
        weight = _box(known, grid, window, window)
        mean = _box(np.asarray(filled * known[..., None], np.float32), grid, window, window)
        new = (known == 0) & (weight > 0.02)
        filled[new] = mean[new] / weight[new][:, None]
        known[new] = 1
    if not known.all():
        filled[known == 0] = filled[known > 0].mean(axis=0) if known.any() else 0.0
    wide = cv2.resize(
        np.clip(filled, 0, 255).astype(np.uint8), (columns, rows), interpolation=cv2.INTER_LINEAR
    )
    return np.asarray(np.where(unknown[..., None], wide, pixels), np.uint8)
