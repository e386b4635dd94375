"""A photograph of a face put to scale, in the board's frame, or refused with the reason."""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from stockyard.errors import BadInput
from stockyard.photos.carded import outline_with_cards
from stockyard.photos.cards import CARD_MM, MARKER_MM, FoundCard, find_cards
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2
from stockyard.photos.outline import BoardOutline
from stockyard.photos.plane import (
    PlaneMap,
    Points,
    Seen,
    camera_across_mm,
    fit_plane,
    four_point_map,
    shown_ratio,
)
from stockyard.photos.trust import TrustLimits, Way, check_trust
from stockyard.timber import Face, Outline

FINEST_MM_PER_PX = 0.2  # a finer picture shows no defect better and takes longer to read
_FOOT_MM = 1.0  # wider than logged by more than this, the foot of a side was taken for its arris ...
_MOST_FOOT = 0.06  # ... up to this share of the width; beyond, the board's size is wrong
_WIDTH_TELLS_MM = 1.5  # cards measure a board's width about so well
MOST_PIXELS = 40_000_000


class Side(StrEnum):
    """A side of the picture, as it is looked at."""

    LEFT = "left"
    TOP = "top"
    RIGHT = "right"
    BOTTOM = "bottom"


@dataclass(frozen=True, slots=True)
class TrueFace:
    """A face at true scale in the board's frame: column = x / mm_per_px, row = (width - y) / mm_per_px.

    pixels: (rows, columns, 3) RGB; face B mirrored into the frame. way: what it was scaled by.
    seen_mm_per_px: a pixel of the photograph, (along, across), at the middle of the face [mm].
    disagrees_pct: how much longer and wider the picture shows the board than its logged size [%]; without
    cards only their ratio can be known, and stands in the first figure. plane: from the photograph to the
    board. white: what a card's white looks like, RGB 0..255, None without cards. finest_mm: the narrowest
    dark line the picture can show. error_px: how far the cards' corners lie from the fit. remarks: sentences
    for the person. covered: outlines of the cards on the face [mm]; nothing is known of the wood under them.
    """

    pixels: Pixels
    mm_per_px: float
    length_mm: float
    width_mm: float
    face: Face
    way: Way
    seen_mm_per_px: tuple[float, float]
    disagrees_pct: tuple[float, float]
    plane: PlaneMap
    cards: tuple[int, ...]
    white: tuple[float, float, float] | None
    finest_mm: float
    error_px: float | None
    remarks: tuple[str, ...]
    covered: tuple[Outline, ...] = ()


def true_scale(
    pixels: Pixels,
    length_mm: float,
    width_mm: float,
    face: Face = Face.A,
    corners_px: Points | None = None,
    end1: Side = Side.LEFT,
    focal_35mm: float | None = None,
    limits: TrustLimits | None = None,
    marker_mm: float = MARKER_MM,
) -> TrueFace:
    """Put a photograph of one whole face to scale.

    pixels: the upright photograph, RGB. length_mm, width_mm: the board's logged size. corners_px: the face's
    corners (column, row) if given by hand, in any order around it; they come before what is found.
    end1: where end 1 lies in the picture, when no corner card says it. focal_35mm: of the lens, if
    known, to check the proportions by. marker_mm: the side of the printed markers, measured.
    Raises BadInput with the reason when the picture cannot be trusted.
    """
    limits = limits or TrustLimits()
    if face is Face.BOTH:
        raise BadInput("A photograph shows one face; say A or B.")
    if not (length_mm > 0 and width_mm > 0):
        raise BadInput("The board's logged length and width are needed to put a photograph to scale.")
    found = find_cards(pixels) if corners_px is None else ()
    size = (float(length_mm), float(width_mm))
    blur = None
    error_px, white, disagrees = None, None, None
    if corners_px is not None:
        way, quad = Way.CORNERS, _given(corners_px, pixels.shape)
        quad = begun_at(quad, end1)
        plane = four_point_map(quad, board_corners(size, face), pixels.shape)
    else:
        outline = outline_with_cards(pixels, found, size, marker_mm, focal_35mm)
        blur = outline.blur_px
        quad = outline.corners_px
        way = Way.CARDS if found else Way.OUTLINE
        start, sides = _placed(outline, found, end1, size, face, pixels.shape)
        plane = start
        if not found:
            plane = _without_foot(start, size, focal_35mm)
        if found:
            seen = Seen(tuple(card.corners_px for card in found), marker_mm, sides)
            plane, shown, error_px = fit_plane(start, seen, size)
            better = _edges_by_width(plane, outline, sides, size[1])
            if better is not sides:
                plane, shown, error_px = fit_plane(start, replace(seen, sides=better), size)
            lost = _side_seen(plane, size, focal_35mm)
            if lost is not None and _FOOT_MM < shown[1] - size[1] < _MOST_FOOT * size[1]:
                # The board's own side hides its arris: the cards and the other edge say where it is.
                firm = list(better)
                firm[lost] = np.zeros((0, 2))
                whole = (firm[0], firm[1], firm[2], firm[3])
                plane, shown, error_px = fit_plane(start, replace(seen, sides=whole), size, width_known=True)
            disagrees = (100 * (shown[0] / size[0] - 1), 100 * (shown[1] / size[1] - 1))
            stretch = np.diag([size[0] / shown[0], size[1] / shown[1], 1.0])
            plane = replace(plane, matrix=stretch @ plane.matrix)
            white = _white(pixels, found, marker_mm)
    if disagrees is None:
        ratio = shown_ratio(plane, focal_35mm)
        disagrees = (100 * (ratio - 1), 0.0)
    middle = (size[0] / 2, size[1] / 2)
    seen_mm = plane.mm_per_px(middle)
    mm_per_px = max(FINEST_MM_PER_PX, min(seen_mm), (size[0] * size[1] / MOST_PIXELS) ** 0.5)
    mm_per_px = round(mm_per_px, 4)
    laid = _laid_flat(pixels, plane, size, mm_per_px)
    remarks = check_trust(laid, seen_mm, disagrees, blur, way, limits)
    return TrueFace(
        laid, mm_per_px, size[0], size[1], face, way, seen_mm, disagrees, plane,
        tuple(card.id for card in found), white, limits.px_to_show * max(seen_mm), error_px, remarks,
        tuple(_card_outline(plane, card, marker_mm) for card in found),
    )  # fmt: skip


def _given(corners_px: Points, shape: tuple[int, ...]) -> Points:
    corners = np.asarray(corners_px, float)
    rows, columns = shape[:2]
    if corners.shape != (4, 2) or not np.isfinite(corners).all():
        raise BadInput("Four corners are needed, each a column and a row of the picture.")
    if (corners < -1).any() or (corners > (columns + 1, rows + 1)).any():
        raise BadInput(f"A corner lies off the picture, which is {columns} x {rows} pixels.")
    around = corners - corners.mean(axis=0)
    corners = corners[np.argsort(np.arctan2(around[:, 1], around[:, 0]))]
    hull = cv2.convexHull(corners.astype(np.float32))
    if len(hull) < 4 or cv2.contourArea(hull) < 400:
        raise BadInput("The four corners do not make a four-sided face; give each corner of the face once.")
    long_first = np.linalg.norm(corners[1] - corners[0]) >= np.linalg.norm(corners[2] - corners[1])
    return corners if long_first else np.roll(corners, -1, axis=0)


def begun_at(quad: Points, end1: Side) -> Points:
    """The quad begun so that its sides 0 and 2 are long and end 1 (its side 3) lies on the named side."""
    middle = quad.mean(axis=0)
    towards = {Side.LEFT: (-1, 0), Side.RIGHT: (1, 0), Side.TOP: (0, -1), Side.BOTTOM: (0, 1)}[end1]
    away = (quad[3] + quad[0]) / 2 - middle
    return quad if away @ np.array(towards) >= 0 else np.roll(quad, 2, axis=0)


def board_corners(size: tuple[float, float], face: Face) -> Points:
    """Board coordinates of a clockwise quad whose side 3 is end 1, as that face is seen."""
    length, width = size
    near, far = (width, 0.0) if face is Face.A else (0.0, width)
    return np.array([(0, near), (length, near), (length, far), (0, far)], float)


def _placed(
    outline: BoardOutline, found: tuple[FoundCard, ...], end1: Side, size: tuple[float, float], face: Face,
    shape: tuple[int, ...],
) -> tuple[PlaneMap, tuple[Points, Points, Points, Points]]:  # fmt: skip
    """A first map, and the outline's sides in the order edge 1, end 2, edge 2, end 1."""
    corner_cards = [card for card in found if card.corner is not None]
    quad = outline.corners_px
    turned = begun_at(quad, end1)
    if corner_cards:
        fits = {}
        for way in (0, 2):
            for as_face in (Face.A, Face.B):
                begun = np.roll(quad, way, axis=0)
                plane = four_point_map(begun, board_corners(size, as_face), shape)
                fits[(way, as_face)] = sum(_in_place(plane, card, size) for card in corner_cards)
        here = max((fits[(way, face)], -way) for way in (0, 2))
        there = max(fits[(way, face.other)] for way in (0, 2))
        if here[0] < len(corner_cards):
            if there == len(corner_cards) > 1:
                raise BadInput(
                    f"The corner cards lie as they do on face {face.other.value}; say that face, or "
                    "lay them at the corners printed on them."
                )
            raise BadInput(
                "The corner cards do not lie near the corners printed on them; lay each at its own corner, "
                "face up, and take the picture again."
            )
        turned = np.roll(quad, -here[1], axis=0)
    plane = four_point_map(turned, board_corners(size, face), shape)
    return plane, in_board_order(outline, turned, face)


def _without_foot(start: PlaneMap, size: tuple[float, float], focal_35mm: float | None) -> PlaneMap:
    """The map with the seen side of the board left out of its width, where proportions say that it is in."""
    lost, ratio = _side_seen(start, size, focal_35mm), shown_ratio(start, focal_35mm)
    if lost is None or not 0.004 < 1 - ratio < _MOST_FOOT:
        return start
    grow = 1 / ratio  # the outline's width holds the face's and the foot's
    move = np.array([[1, 0, 0], [0, grow, (1 - grow) * size[1] if lost == 0 else 0.0], [0, 0, 1]])
    return replace(start, matrix=move @ start.matrix)


def _side_seen(plane: PlaneMap, size: tuple[float, float], focal_35mm: float | None) -> int | None:
    """The long edge whose side the camera saw: 0 for edge 1, 2 for edge 2, None for neither."""
    across = camera_across_mm(plane, focal_35mm)
    return 0 if across < 0 else 2 if across > size[1] else None


def _edges_by_width(
    plane: PlaneMap, outline: BoardOutline, sides: tuple[Points, Points, Points, Points], width_mm: float
) -> tuple[Points, Points, Points, Points]:
    """The sides with those lines for long edges that lie the board's width apart by the cards' scale.

    A board's arris, the foot of its side on the bench and the edge of its sapwood are all straight lines.
    """
    now = {}
    for place in (0, 2):
        own = sides[place]
        which = next(k for k in (0, 1) if any(own is one for one in outline.long_choices[k]))
        now[place] = [
            (float(np.median(plane.to_board(one)[:, 1])), one) for one in outline.long_choices[which]
        ]
    pairs = [
        (abs(high - low - width_mm), low_points, high_points)
        for low, low_points in now[0]
        for high, high_points in now[2]
    ]
    off, edge_1, edge_2 = min(pairs, key=lambda pair: pair[0])
    usual = next(pair[0] for pair in pairs if pair[1] is sides[0] and pair[2] is sides[2])
    if usual - off < _WIDTH_TELLS_MM:
        return sides
    return edge_1, sides[1], edge_2, sides[3]


def in_board_order(outline: BoardOutline, begun: Points, face: Face) -> tuple[Points, Points, Points, Points]:
    """An outline's sides in the order edge 1, end 2, edge 2, end 1, for its quad as begun at end 1."""
    steps = int(np.argmin(np.linalg.norm(outline.corners_px - begun[0], axis=1)))
    first, end2, second, end1 = outline.sides_px[steps:] + outline.sides_px[:steps]
    return (second, end2, first, end1) if face is Face.A else (first, end2, second, end1)


def _in_place(plane: PlaneMap, card: FoundCard, size: tuple[float, float]) -> bool:
    corner = card.corner
    assert corner is not None
    x, y = plane.to_board(card.middle_px)[0]
    end_ok = (x < size[0] / 2) == (corner.end == 1)
    # On a narrow board two cards lie one behind the other, and only their end can be told.
    edge_ok = size[1] < 2.3 * CARD_MM or (y < size[1] / 2) == (corner.edge == 1)
    return bool(end_ok and edge_ok)


def _white(pixels: Pixels, found: tuple[FoundCard, ...], marker_mm: float) -> tuple[float, float, float]:
    """The cards' white, from the rim between marker and card edge."""
    grow = 1 + (CARD_MM - MARKER_MM) / 2 / marker_mm
    seen = []
    for card in found:
        middle = card.corners_px.mean(axis=0)
        ring = middle + (card.corners_px - middle) * grow
        for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            for share in (0.2, 0.5, 0.8):
                u, v = np.round(a + share * (b - a)).astype(int)
                if 0 <= v < pixels.shape[0] and 0 <= u < pixels.shape[1]:
                    seen.append(pixels[v, u])
    red, green, blue = (float(value) for value in np.median(np.array(seen), axis=0))
    return red, green, blue


def _card_outline(plane: PlaneMap, card: FoundCard, marker_mm: float) -> Outline:
    corners = plane.to_board(card.corners_px)
    middle = corners.mean(axis=0)
    grown = middle + (corners - middle) * ((CARD_MM + 4) / marker_mm)
    return tuple((float(x), float(y)) for x, y in grown)


def _laid_flat(pixels: Pixels, plane: PlaneMap, size: tuple[float, float], mm_per_px: float) -> Pixels:
    columns, rows = round(size[0] / mm_per_px), round(size[1] / mm_per_px)
    step_x, step_y = size[0] / columns, size[1] / rows
    if plane.lens == 0.0:
        to_mm = np.array([[step_x, 0, step_x / 2], [0, -step_y, size[1] - step_y / 2], [0, 0, 1]])
        unit, (u, v) = plane.unit_px, plane.middle_px
        to_px = np.array([[unit, 0, u], [0, unit, v], [0, 0, 1]])
        whole = to_px @ np.linalg.inv(plane.matrix) @ to_mm
        return np.asarray(
            cv2.warpPerspective(pixels, whole, (columns, rows), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                                borderMode=cv2.BORDER_REPLICATE), np.uint8)  # fmt: skip
    # The lens bends slowly: the map is worked out on a coarse grid and stretched.
    grid_x = np.linspace(0, columns - 1, max(2, columns // 16))
    grid_y = np.linspace(0, rows - 1, max(2, rows // 16))
    gx, gy = np.meshgrid(grid_x, grid_y)
    mm = np.column_stack([(gx.ravel() + 0.5) * step_x, size[1] - (gy.ravel() + 0.5) * step_y])
    px = plane.to_picture(mm).reshape(len(grid_y), len(grid_x), 2).astype(np.float32)
    fine_x = np.arange(columns, dtype=np.float32) * np.float32((len(grid_x) - 1) / max(1, columns - 1))
    fine_y = np.arange(rows, dtype=np.float32) * np.float32((len(grid_y) - 1) / max(1, rows - 1))
    at = np.meshgrid(fine_x, fine_y)
    seen_u = cv2.remap(
        np.ascontiguousarray(px[..., 0]), at[0], at[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    seen_v = cv2.remap(
        np.ascontiguousarray(px[..., 1]), at[0], at[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(
        cv2.remap(pixels, seen_u, seen_v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.uint8
    )
