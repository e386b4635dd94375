"""A picture at scale made ready to be measured: grain along the columns, the board told from its ground."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Evidence, Mask, gather
from stockyard.photos.ground import board_mask
from stockyard.photos.opencv import cv2

Grain = Literal["vertical", "horizontal"]

_LEAST_ACROSS_PX = 480  # a picture is not made smaller than this across, in case its scale is told too fine
_TOO_NARROW_MM = 76.0  # 3 in, the narrowest board of the NHLA's grades (chart at hooddistribution.com)
_USUAL_MM = 130.0  # and about the middle of what boards are


@dataclass(frozen=True, slots=True)
class Ready:
    """lying: the picture, grain along its columns. work, mask: it and its board at the size it is read at.

    mm: a pixel of `work`, (across, along), by the scale told. evidence: measured by the scale believed.
    """

    lying: Pixels
    work: Pixels
    mask: Mask
    mm: tuple[float, float]
    evidence: Evidence


def made_ready(
    image: Pixels,
    mm_per_px: tuple[float, float],
    grain: Grain,
    finest_mm: tuple[float, float],
    mask: Mask | None = None,
) -> Ready:
    """Lay a picture along its grain, bring it to the finest pixel that is read, and measure it.

    image: (rows, columns, 3) uint8 RGB. mm_per_px, finest_mm: (across, along). mask: 255 on the board; found
    against its ground if None. Where both edges of a board are seen nearer to each other than any board's,
    the scale told is not believed: its points are then measured as those of a usual board. For an offcut
    that really is so narrow this does little harm; a scale taken too fine would hide half of what shows.
    """
    full = board_mask(image) if mask is None else mask
    upright = grain == "horizontal"
    lying = image if upright else np.ascontiguousarray(image.transpose(1, 0, 2))
    lying_mask = full if upright else np.ascontiguousarray(full.T)
    across_px, whole = _across(lying_mask)
    by = 1.0
    if mask is None and whole and across_px * mm_per_px[0] < _TOO_NARROW_MM:
        by = _USUAL_MM / (across_px * mm_per_px[0])
    work, work_mask = _brought_to(
        lying, lying_mask, (mm_per_px[0] * by, mm_per_px[1] * by), finest_mm, across_px
    )
    mm = (mm_per_px[0] * lying.shape[0] / work.shape[0], mm_per_px[1] * lying.shape[1] / work.shape[1])
    evidence = gather(work, work_mask, (mm[0] * by, mm[1] * by))
    return Ready(lying, work, work_mask, mm, evidence)


def _across(mask: Mask) -> tuple[float, bool]:
    """How many pixels the board is across, and whether ground shows on both sides of it."""
    inside = mask > 0
    across = inside.sum(axis=0)
    seen = across[across > 0]
    if not len(seen):
        return float(mask.shape[0]), False
    ground = bool(not inside[0].any() and not inside[-1].any())
    return float(np.median(seen)), ground


def _brought_to(
    image: Pixels, mask: Mask, mm: tuple[float, float], finest: tuple[float, float], across_px: float
) -> tuple[Pixels, Mask]:
    rows, columns = image.shape[:2]
    least = min(1.0, _LEAST_ACROSS_PX / max(across_px, 1.0))
    down, along = min(1.0, mm[0] / finest[0]), min(1.0, mm[1] / finest[1])
    if down < least:
        down, along = least, min(1.0, along * least / down)
    size = (max(16, round(columns * along)), max(16, round(rows * down)))
    if size == (columns, rows):
        return image, mask
    work = np.asarray(cv2.resize(image, size, interpolation=cv2.INTER_AREA), np.uint8)
    return work, np.asarray(cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), np.uint8)
