"""How wide a crack stands open, narrower than a pixel too, from the light it swallows."""

import numpy as np

from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2
from stockyard.photos.plane import Points

_STILL_LIT = 0.12  # of the wood's light that comes back out of an open crack


def opening_mm(lying: Pixels, outline_px: Points, mm: tuple[float, float]) -> float | None:
    """The opening of a crack that runs along the columns [mm]; None where too little of it shows.

    lying: (rows across, columns along, 3) RGB. outline_px: its (column, row) polygon. mm: (across, along) of
    a pixel. The light missing across the crack, against the wood on both sides, is what its gap would have
    sent: their ratio is its width, however the lens has spread it. The upper quartile along the crack is
    given, as a crack is measured at its wide part.
    """
    rows, columns = lying.shape[:2]
    pad = max(3, round(3.0 / mm[0]))
    left = max(0, int(outline_px[:, 0].min()))
    right = min(columns, int(np.ceil(outline_px[:, 0].max())) + 1)
    top = max(0, int(outline_px[:, 1].min()) - pad)
    bottom = min(rows, int(np.ceil(outline_px[:, 1].max())) + pad + 1)
    if right - left < 3 or bottom - top < 5:
        return None
    green = cv2.blur(lying[top:bottom, left:right, 1].astype(np.float32), (max(1, round(2.0 / mm[1])), 1))
    light = (green / 255) ** 2.2
    drawn = np.zeros(light.shape, np.uint8)
    cv2.fillPoly(drawn, [np.round(outline_px - (left, top)).astype(np.int32)], 1)
    grow = max(1, round(0.6 / mm[0]))
    near = cv2.dilate(drawn, np.ones((2 * grow + 1, 3), np.uint8))
    beside = np.where(near > 0, np.nan, light)
    shown = near.any(axis=0) & np.isfinite(beside).any(axis=0)
    if not shown.any():
        return None
    wood = np.nanmean(beside[:, shown], axis=0)
    # Not clipped at zero: what is a little lighter than the wood's mean makes up for what is a little darker.
    missing = (1 - light[:, shown] / np.maximum(wood, 1e-4)) * near[:, shown]
    widths = np.maximum(missing.sum(axis=0), 0) * mm[0] / (1 - _STILL_LIT)
    return round(float(np.percentile(widths, 75)), 2)
