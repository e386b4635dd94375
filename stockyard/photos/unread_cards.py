"""Cards that lie on a face and could not be read: face down, or in a picture that a camera mirrored."""

import numpy as np

from stockyard.photos.cards import CARD_MM, find_cards
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2

_LIGHTER = 15.0  # L* by which a card stands out of wood
_NEARLY_GREY = 16.0  # chroma of white paper in warm light
_SEARCH_PX = 1600
_SIDE_MM = (CARD_MM - 8, CARD_MM + 8)


def mirrored_cards(pixels: Pixels) -> bool:
    """Are there cards in a picture, as it was taken, that can be read only in a mirror?"""
    shrink = min(1.0, _SEARCH_PX / max(pixels.shape))
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    return len(find_cards(np.ascontiguousarray(small[:, ::-1]))) > 0


def white_squares(pixels: Pixels, mm_per_px: float) -> int:
    """How many white squares of a card's size lie on a true-scale face. pixels: (rows, columns, 3) RGB."""
    shrink = min(1.0, mm_per_px)
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    light, chroma = lab[..., 0], np.hypot(lab[..., 1], lab[..., 2])
    white = (light > np.median(light) + _LIGHTER) & (chroma < _NEARLY_GREY)
    scale = mm_per_px / shrink
    shape = np.asarray(white, np.uint8)
    contours, _ = cv2.findContours(shape, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    found = 0
    for contour in contours:
        _, (one, other), _ = cv2.minAreaRect(contour)
        sides = sorted(((one + 1) * scale, (other + 1) * scale))
        whole = cv2.contourArea(contour) > 0.85 * one * other
        found += whole and _SIDE_MM[0] <= sides[0] and sides[1] <= _SIDE_MM[1]
    return found
