"""Read what QR codes in a picture hold: the labels on the rack, photographed with any phone.

read_codes(pixels) -> tuple[str, ...]
"""

from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2

_SIDES_PX = (1600, 900, 3200)
"""Longer sides that a picture is looked at in: a code too coarse or too fine for one is read in another."""


def read_codes(pixels: Pixels) -> tuple[str, ...]:
    """What every code in a picture holds, in the order found, each once; nothing where none can be read.

    pixels: (rows, columns, 3) uint8, RGB.
    """
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    longer = max(grey.shape)
    found: dict[str, None] = {}
    for side in _SIDES_PX:
        scale = min(1.0, side / longer)
        size = (max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale)))
        seen = cv2.resize(grey, size, interpolation=cv2.INTER_AREA) if scale < 1 else grey
        _, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(seen)
        found.update(dict.fromkeys(text for text in texts if text))
        if found or scale == 1.0:
            break
    return tuple(found)
