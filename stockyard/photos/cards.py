"""The marker cards laid on a face: their places, their look, and finding them in a picture.

A card is white, CARD_MM wide and high, with a square marker of MARKER_MM in its middle. The first four say
which corner of the board they lie near; they need not lie exactly, only flat and whole on the face, and any
way round. The station cards join the pictures of a long face: each lies anywhere, in two pictures.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2

Points = npt.NDArray[np.float64]

MARKER_MM = 40.0
CARD_MM = 56.0  # 8 mm of white around the marker: over one of its seven modules, as finding it needs
MODULES = 7  # five rows and columns of code in a black rim of one
STATIONS = tuple(range(10, 34))
_SEARCH_PX = 2800  # markers are looked for in a picture this long, then their corners in the full one


class CornerCard(IntEnum):
    """The cards that say which corner of the board they lie near."""

    END1_EDGE1 = 0
    END1_EDGE2 = 1
    END2_EDGE1 = 2
    END2_EDGE2 = 3

    @property
    def says(self) -> str:
        """What is printed on the card."""
        return self.name.replace("_", " ").replace("END", "END ").replace("EDGE", "EDGE ")

    @property
    def end(self) -> int:
        """1 or 2."""
        return 1 + int(self) // 2

    @property
    def edge(self) -> int:
        """1 or 2."""
        return 1 + int(self) % 2


@dataclass(frozen=True, slots=True)
class FoundCard:
    """A card seen in a picture.

    id: its marker's. corners_px: (4, 2) of its marker, (column, row), clockwise from the printed top left as
    seen on an unmirrored print.
    """

    id: int
    corners_px: Points

    @property
    def middle_px(self) -> Points:
        """Where the marker's middle is, near enough to tell places apart. (2,)"""
        return np.asarray(self.corners_px.mean(axis=0))

    @property
    def corner(self) -> CornerCard | None:
        """Which corner it stands for; None for a station card."""
        return CornerCard(self.id) if self.id in CornerCard._value2member_map_ else None


def _dictionary() -> "cv2.aruco.Dictionary":
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_50)


def known_card(card_id: int) -> bool:
    """Is there a card with this id?"""
    return card_id in STATIONS or card_id in CornerCard._value2member_map_


def marker_modules(card_id: int) -> npt.NDArray[np.bool_]:
    """The marker's (7, 7) squares, its rim included; True is white."""
    drawn = cv2.aruco.generateImageMarker(_dictionary(), card_id, MODULES)
    return np.asarray(drawn) > 127


def card_picture(card_id: int, px_per_mm: float) -> Pixels:
    """The card as printed, without its words: a grey picture of CARD_MM square."""
    side, marker = round(CARD_MM * px_per_mm), round(MARKER_MM * px_per_mm)
    squares = marker_modules(card_id).astype(np.uint8) * 255
    drawn = np.full((side, side), 255, np.uint8)
    start = (side - marker) // 2
    drawn[start : start + marker, start : start + marker] = cv2.resize(
        squares, (marker, marker), interpolation=cv2.INTER_NEAREST
    )
    return drawn


def find_cards(pixels: Pixels) -> tuple[FoundCard, ...]:
    """The cards in an RGB picture, by id. A card seen twice is left out: it tells nothing certain."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    shrink = min(1.0, _SEARCH_PX / max(grey.shape))
    small = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA) if shrink < 1 else grey
    settings = cv2.aruco.DetectorParameters()
    settings.minMarkerPerimeterRate = 0.025  # 17 px a side at the search size: over two a module
    settings.adaptiveThreshWinSizeMax = 33
    settings.adaptiveThreshWinSizeStep = 15
    corners, ids, _ = cv2.aruco.ArucoDetector(_dictionary(), settings).detectMarkers(small)
    if ids is None:
        return ()
    # Light spills over an edge in proportion to light, not to the file's numbers: undoing the curve of those
    # keeps the black from shrinking.
    curve = np.round(255 * (np.arange(256) / 255) ** 2.2).astype(np.uint8)
    names = [int(one) for one in np.ravel(ids)]
    found = []
    for name, quad in zip(names, corners, strict=True):
        if names.count(name) > 1 or not known_card(name):
            continue
        coarse = (np.asarray(quad, np.float32).reshape(4, 1, 2) + 0.5) / shrink - 0.5
        side_px = float(np.sqrt(cv2.contourArea(coarse)))
        reach = int(np.clip(side_px / MODULES / 2, 2, 12))
        stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.01)
        left, top = np.maximum(coarse.min(axis=(0, 1)).astype(int) - 3 * reach - 3, 0)
        right, low = coarse.max(axis=(0, 1)).astype(int) + 3 * reach + 4
        light = cv2.LUT(np.ascontiguousarray(grey[top:low, left:right]), curve)
        begin = np.array((left, top), np.float32)
        fine = cv2.cornerSubPix(light, coarse - begin, (reach, reach), (-1, -1), stop)
        found.append(FoundCard(name, np.asarray(fine, np.float64).reshape(4, 2) + begin))
    return tuple(sorted(found, key=lambda card: card.id))
