"""A board told from the ground it lies on, in a picture that already is at scale."""

import numpy as np

from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Mask
from stockyard.photos.opencv import cv2

_WORK_PX = 400
_STEP_L = 22.0  # CIELAB lightness between the board and a ground that can be told from it
_STEP_HUE = 16.0  # CIELAB a*, b*, likewise


def board_mask(pixels: Pixels) -> Mask:
    """255 on the board, 0 on the ground around it; all 255 where the board fills the picture.

    pixels: (rows, columns, 3) RGB, a part or the whole of one board's face, upright or sideways but with
    its edges near to the picture's directions. What is dark at the rim but lies within the board's straight
    outline (wane, a lost knot) counts as board.
    """
    rows, columns = pixels.shape[:2]
    shrink = min(1.0, _WORK_PX / max(rows, columns))
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    lab = cv2.blur(lab, (3, 3))
    height, width = lab.shape[:2]
    core = lab[int(0.3 * height) : int(0.7 * height) + 1, int(0.3 * width) : int(0.7 * width) + 1].reshape(
        -1, 3
    )
    usual = np.median(core, axis=0)
    gap = lab - usual
    dark = gap[..., 0] < -max(_STEP_L, 0.42 * float(usual[0]))
    light = gap[..., 0] > _STEP_L
    other = (np.hypot(gap[..., 1], gap[..., 2]) > _STEP_HUE) & (np.abs(gap[..., 0]) > 8)
    ground = np.zeros((height, width), np.uint8)
    for kind in (dark, light, other):
        ground |= _from_the_rim(kind.astype(np.uint8))
    if not ground.any():
        return np.full((rows, columns), 255, np.uint8)
    board = cv2.morphologyEx(1 - ground, cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    count, names, stats, _ = cv2.connectedComponentsWithStats(board, connectivity=4)
    if count < 2:
        return np.full((rows, columns), 255, np.uint8)
    biggest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    shapes, _ = cv2.findContours(
        (names == biggest).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    outline = cv2.convexHull(max(shapes, key=cv2.contourArea)).reshape(-1, 2).astype(np.float64)
    # What runs to the picture's rim runs on past it: only ground that is seen ends a board.
    last = np.array([width - 1, height - 1])
    outline = outline + np.where(outline >= last, 2.0, np.where(outline <= 0, -2.0, 0.0))
    mask = np.zeros((rows, columns), np.uint8)
    cv2.fillPoly(mask, [np.round((outline + 0.5) / shrink * 16 - 8).astype(np.int32)], 255, shift=4)
    edge = max(3, round(1.2 / shrink))
    # The edge of a board is soft in a picture: a hair of it is left to the ground.
    return np.asarray(cv2.erode(mask, np.ones((edge, edge), np.uint8), borderValue=255), np.uint8)


def _from_the_rim(kind: Mask) -> Mask:
    """Those patches of a kind that lie along a good part of the picture's rim: ground, not a flaw at it."""
    count, names, stats, _ = cv2.connectedComponentsWithStats(kind, connectivity=8)
    kept = np.zeros_like(kind)
    height, width = kind.shape
    for name in range(1, count):
        patch = names == name
        along = max(patch[0].sum() / width, patch[-1].sum() / width, patch[:, 0].sum() / height,
                    patch[:, -1].sum() / height)  # fmt: skip
        if along > 0.6 and stats[name, cv2.CC_STAT_AREA] > 0.004 * height * width:
            kept |= patch.astype(np.uint8)
    return kept
