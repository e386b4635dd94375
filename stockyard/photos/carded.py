"""The outline of a face that bears marker cards: where the bench hides it, the cards say where to look."""

import numpy as np

from stockyard.errors import BadInput
from stockyard.photos.cards import CARD_MM, MARKER_MM, FoundCard
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2
from stockyard.photos.outline import BoardOutline, long_side_first, refine_outline, rough_corners
from stockyard.photos.plane import Points, Seen, fit_plane, four_point_map

_RIM_MM = 2.5  # a card's own edge and its shadow


def outline_with_cards(
    pixels: Pixels,
    found: tuple[FoundCard, ...],
    size_mm: tuple[float, float],
    marker_mm: float = MARKER_MM,
    focal_35mm: float | None = None,
) -> BoardOutline:
    """Find the one face in an RGB picture, whole, with or without cards on it.

    size_mm: the board's logged (length, width). marker_mm: the side of the printed markers. focal_35mm: of
    the lens, if known.
    Raises BadInput as find_outline does, unless four corner cards tell where the face must be.
    """
    covers = covered_px(found)
    told = _around(found, size_mm, marker_mm, pixels.shape)
    try:
        rough = rough_corners(pixels, whole=True)
    except BadInput:
        if told is None:
            raise
        rough = told
    if told is not None and not _holds(rough, covers):
        # A bench of the board's colour, or light on it, has cut the outline short: cards lie outside it.
        rough = told
    return refine_outline(pixels, rough, covers, size_mm, focal_35mm)


def covered_px(found: tuple[FoundCard, ...]) -> list[Points]:
    """The outlines of the cards in the picture, (4, 2) each, with a little around them."""
    grow = (CARD_MM + 2 * _RIM_MM) / MARKER_MM
    return [card.middle_px + (card.corners_px - card.middle_px) * grow for card in found]


def _holds(quad: Points, covers: list[Points]) -> bool:
    ring = quad.astype(np.float32)
    slack = 0.1 * float(np.mean([np.linalg.norm(cover[1] - cover[0]) for cover in covers]))
    return all(
        cv2.pointPolygonTest(ring, (float(u), float(v)), True) > -slack for cover in covers for u, v in cover
    )


def _around(
    found: tuple[FoundCard, ...], size_mm: tuple[float, float], marker_mm: float, shape: tuple[int, ...]
) -> Points | None:
    """The corners of a board of that size laid evenly around four corner cards; None without them.

    The markers alone give a plane's scale and tilt; only a rough outline is asked of it.
    """
    if sum(card.corner is not None for card in found) < 4:
        return None
    length, width = size_mm
    rectangle = np.array([(0, width), (length, width), (length, 0), (0, 0)], float)
    squares = tuple(card.corners_px for card in found)
    box = cv2.boxPoints(cv2.minAreaRect(np.vstack(squares).astype(np.float32))).astype(np.float64)
    middle = box.mean(axis=0)
    box = box[np.argsort(np.arctan2(*(box - middle).T[::-1]))]
    start = four_point_map(long_side_first(box), rectangle, shape)
    none = np.zeros((0, 2))
    plane, _, _ = fit_plane(start, Seen(squares, marker_mm, (none, none, none, none)), size_mm)
    placed = np.array([plane.to_board(square).mean(axis=0) for square in squares])
    far = placed[:, 0] > np.median(placed[:, 0])
    ahead = placed[far].mean(axis=0) - placed[~far].mean(axis=0)
    if np.hypot(*ahead) < length / 3:
        return None
    angle = np.arctan2(ahead[1], ahead[0])
    turn = np.array([(np.cos(angle), -np.sin(angle)), (np.sin(angle), np.cos(angle))])
    level = placed @ turn
    centre = turn @ ((level.min(axis=0) + level.max(axis=0)) / 2)
    return plane.to_picture((rectangle - (length / 2, width / 2)) @ turn.T + centre)
