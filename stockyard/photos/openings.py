"""How wide a crack stands open, narrower than a pixel too, from the light it swallows."""

import numpy as np
import numpy.typing as npt

from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Field
from stockyard.photos.opencv import cv2
from stockyard.photos.plane import Points

_STILL_LIT = 0.12  # of the wood's light that comes back out of an open crack
_REACHES_MM = (1.0, 1.6, 2.6, 4.2)  # how far beside its middle the wood is looked for
_FLANK_MM = 0.6
_NEARLY_ALL = 0.8


def opening_mm(lying: Pixels, outline_px: Points, mm: tuple[float, float]) -> float | None:
    """The opening of a crack that runs along the columns [mm]; None where too little of it shows.

    lying: (rows across, columns along, 3) RGB. outline_px: its (column, row) polygon. mm: (across, along) of
    a pixel. The light missing across the crack, against the wood close beside it on both sides, is what its
    gap would have sent: their ratio is its width, however the lens has spread it. The upper quartile along
    the crack is given, as a crack is measured at its wide part.
    """
    rows, columns = lying.shape[:2]
    pad = max(3, round((_REACHES_MM[-1] + _FLANK_MM) / mm[0]))
    left = max(0, int(outline_px[:, 0].min()))
    right = min(columns, int(np.ceil(outline_px[:, 0].max())) + 1)
    top = max(0, int(outline_px[:, 1].min()) - pad)
    bottom = min(rows, int(np.ceil(outline_px[:, 1].max())) + pad + 1)
    if right - left < 3 or bottom - top < 5:
        return None
    green = cv2.blur(lying[top:bottom, left:right, 1].astype(np.float32), (max(1, round(5.0 / mm[1])), 1))
    light = np.asarray((green / 255) ** 2.2, np.float32)
    drawn = np.zeros(light.shape, np.uint8)
    cv2.fillPoly(drawn, [np.round(outline_px - (left, top)).astype(np.int32)], 1)
    grow = max(1, round(0.6 / mm[0]))
    near = cv2.dilate(drawn, np.ones((2 * grow + 1, 3), np.uint8)) > 0
    shown = np.flatnonzero(near.any(axis=0))
    if not len(shown):
        return None
    deepest = np.where(near, light, np.inf)[:, shown].argmin(axis=0)
    widths = np.stack([_missing_px(light[:, shown], deepest, reach / mm[0], mm[0]) for reach in _REACHES_MM])
    # The nearest wood that is wood: where one reaches no further than the gap, its own dark is taken for it.
    means = widths.mean(axis=1)
    reach = int(np.argmax(means >= _NEARLY_ALL * means.max()))
    told = widths[reach] * mm[0] / (1 - _STILL_LIT)
    return round(float(np.percentile(told, 75)), 2)


def _missing_px(light: Field, middle: npt.NDArray[np.intp], reach_px: float, mm_across: float) -> Field:
    """How many pixels' light of the wood `reach_px` to either side is missing between, for each column."""
    reach, deep = max(2, round(reach_px)), max(1, round(_FLANK_MM / mm_across))
    steps = np.arange(-reach - deep, reach + deep + 1)
    at = np.clip(middle[None, :] + steps[:, None], 0, len(light) - 1)
    seen = np.take_along_axis(light, at, axis=0)
    above, below = seen[:deep].mean(axis=0), seen[-deep:].mean(axis=0)
    share = ((steps[deep:-deep] + reach) / (2 * reach))[:, None]
    wood = np.maximum(above + (below - above) * share, 1e-4)
    # Not clipped at zero: what is a little lighter than the wood makes up for what is a little darker.
    return np.asarray(np.maximum((1 - seen[deep:-deep] / wood).sum(axis=0), 0), np.float32)
