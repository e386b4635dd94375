"""Several overlapping pictures of a long face, laid into one strip.

Each picture is put to scale by its cards and the board's two edges; what two neighbours both show (the same
station cards, or the same marks in the wood) tells how far apart they lie. Lengths add up from end 1, and the
whole is brought to the logged length, the difference told.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stockyard.errors import BadInput
from stockyard.photos.carded import covered_px
from stockyard.photos.cards import CARD_MM, MARKER_MM, FoundCard, find_cards
from stockyard.photos.decode import Pixels
from stockyard.photos.opencv import cv2
from stockyard.photos.outline import BoardOutline, find_outline
from stockyard.photos.plane import PlaneMap, Points, Seen, fit_plane, four_point_map
from stockyard.photos.scale import (
    FINEST_MM_PER_PX,
    MOST_PIXELS,
    Side,
    begun_at,
    board_corners,
    in_board_order,
)
from stockyard.timber import Face

_LEAST_MATCHES = 12
_FEATURE_MM = 0.8  # a pixel of the strips that marks in the wood are matched on


@dataclass(frozen=True, slots=True)
class Seam:
    """Where two neighbours were joined.

    by: "cards" or "wood". error_mm: root mean square difference of what both show. shared: how many cards or
    marks. overlap_mm: how much of the board both show.
    """

    by: str
    error_mm: float
    shared: int
    overlap_mm: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A long face at true scale, placed as a TrueFace's pixels are.

    closes_pct: how much longer the pictures together show the board than its logged length [%]. planes: each
    picture's map into the board. covered: outlines of the cards [mm].
    """

    pixels: Pixels
    mm_per_px: float
    length_mm: float
    width_mm: float
    face: Face
    seams: tuple[Seam, ...]
    closes_pct: float
    planes: tuple[PlaneMap, ...]
    covered: tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True, slots=True)
class _Part:
    pixels: Pixels
    plane: PlaneMap  # into a frame of its own along, the board's across
    reach_mm: float  # how far along it shows
    cards: dict[int, FoundCard]


def join_strip(
    pictures: Sequence[Pixels],
    length_mm: float,
    width_mm: float,
    face: Face = Face.A,
    end1: Side = Side.LEFT,
    marker_mm: float = MARKER_MM,
    closes_within_pct: float = 2.0,
) -> Strip:
    """Lay pictures of one face together.

    pictures: at least two, RGB, in order from end 1 to end 2, each with both edges of the board and some
    bench beside them, each overlapping the next. end1: the side of every picture that end 1 is towards.
    Raises BadInput where neighbours share too little, or the whole has not the board's logged length.
    """
    if len(pictures) < 2:
        raise BadInput("A strip is made of at least two pictures; put a single one to scale by itself.")
    parts = [_part(one, k, width_mm, face, end1, marker_mm, k == 0) for k, one in enumerate(pictures)]
    starts, seams = [0.0], []
    for k in range(1, len(parts)):
        shift, seam = _joined(parts[k - 1], parts[k], width_mm, k)
        starts.append(starts[-1] + shift)
        seams.append(seam)
    total = starts[-1] + parts[-1].reach_mm
    closes = 100 * (total / length_mm - 1)
    if abs(closes) > closes_within_pct:
        raise BadInput(
            f"Together the pictures show a board {closes:+.1f} % long against its logged {length_mm:g} mm; "
            "check the length, and that the pictures are in order from end 1 and one face's."
        )
    planes = []
    for start, part in zip(starts, parts, strict=True):
        move = np.array([[length_mm / total, 0, start * length_mm / total], [0, 1, 0], [0, 0, 1]])
        planes.append(replace(part.plane, matrix=move @ part.plane.matrix))
    spans = [
        (start * length_mm / total, (start + part.reach_mm) * length_mm / total)
        for start, part in zip(starts, parts, strict=True)
    ]
    middle = [
        plane.mm_per_px(((a + b) / 2, width_mm / 2)) for plane, (a, b) in zip(planes, spans, strict=True)
    ]
    mm_per_px = max(
        FINEST_MM_PER_PX, max(min(one) for one in middle), (length_mm * width_mm / MOST_PIXELS) ** 0.5
    )
    mm_per_px = round(mm_per_px, 4)
    blended = _blended([part.pixels for part in parts], planes, spans, (length_mm, width_mm), mm_per_px)
    covered = []
    for part, plane in zip(parts, planes, strict=True):
        for card in part.cards.values():
            corners = plane.to_board(card.corners_px)
            grown = corners.mean(axis=0) + (corners - corners.mean(axis=0)) * ((CARD_MM + 4) / marker_mm)
            covered.append(tuple((float(x), float(y)) for x, y in grown))
    return Strip(
        blended, mm_per_px, length_mm, width_mm, face, tuple(seams), closes, tuple(planes), tuple(covered)
    )


def _part(
    pixels: Pixels, place: int, width_mm: float, face: Face, end1: Side, marker_mm: float, first: bool
) -> _Part:
    found = find_cards(pixels)
    try:
        outline = find_outline(pixels, covered_px(found), whole=False)
    except BadInput as trouble:
        raise BadInput(f"Picture {place + 1}: {trouble.message}") from trouble
    quad = begun_at(outline.corners_px, end1)
    long_px = float(np.linalg.norm(quad[1] - quad[0]) + np.linalg.norm(quad[2] - quad[3])) / 2
    wide_px = float(np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2
    size = (long_px / wide_px * width_mm, width_mm)
    plane = four_point_map(quad, board_corners(size, face), pixels.shape)
    sides = in_board_order(outline, quad, face)
    if first and not len(sides[3]):
        raise BadInput(
            "The first picture does not show end 1; give the pictures in order from end 1 to end 2."
        )
    if found:
        seen = Seen(tuple(card.corners_px for card in found), marker_mm, sides)
        plane, shown, _ = fit_plane(plane, seen, size)
        plane = replace(plane, matrix=np.diag([1.0, width_mm / shown[1], 1.0]) @ plane.matrix)
    near, far = _ends(plane, outline, quad, sides)
    plane = replace(plane, matrix=np.array([[1, 0, -near], [0, 1, 0], [0, 0, 1.0]]) @ plane.matrix)
    return _Part(pixels, plane, far - near, {card.id: card for card in found})


def _ends(
    plane: PlaneMap, outline: BoardOutline, quad: Points, sides: tuple[Points, Points, Points, Points]
) -> tuple[float, float]:
    """Where along its own frame the part begins and stops: at a seen end, or where the picture does."""
    edge = plane.to_board(quad)[:, 0]
    near = float(np.median(plane.to_board(sides[3])[:, 0])) if len(sides[3]) else float(max(edge[0], edge[3]))
    far = float(np.median(plane.to_board(sides[1])[:, 0])) if len(sides[1]) else float(min(edge[1], edge[2]))
    return near, far


def _joined(one: _Part, other: _Part, width_mm: float, place: int) -> tuple[float, Seam]:
    """How far `other` begins after `one` along the board, and how well that is known."""
    shared = sorted(set(one.cards) & set(other.cards))
    if shared:
        here = np.vstack([one.plane.to_board(one.cards[k].corners_px) for k in shared])
        there = np.vstack([other.plane.to_board(other.cards[k].corners_px) for k in shared])
        by, count = "cards", len(shared)
    else:
        here, there = _marks(one, other, width_mm)
        by, count = "wood", len(here)
        if count < _LEAST_MATCHES:
            raise BadInput(
                f"Pictures {place} and {place + 1} show too little of the same wood; let them overlap by a "
                "third, or lay a station card where they do."
            )
    shift = float(np.median((here - there)[:, 0]))
    off = here - there - (shift, 0)
    error = float(np.sqrt((off**2).sum(axis=1).mean()))
    overlap = one.reach_mm - shift
    if overlap <= 0 or error > 8:
        raise BadInput(
            f"Pictures {place} and {place + 1} do not fit together (they differ by {error:.0f} mm where they "
            "overlap); check their order and take them again from straight above."
        )
    return shift, Seam(by, round(error, 2), count, round(overlap, 1))


def _marks(one: _Part, other: _Part, width_mm: float) -> tuple[Points, Points]:
    """The same marks in the wood in both, (n, 2) each, in each part's own frame."""
    drawn = [_flat(part, width_mm, _FEATURE_MM) for part in (one, other)]
    finder = cv2.SIFT.create(nfeatures=3000, contrastThreshold=0.015)
    even = cv2.createCLAHE(3.0, (8, 8))
    marks = [
        finder.detectAndCompute(even.apply(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)), None)
        for picture in drawn
    ]
    if any(words is None or len(words) < 2 for _, words in marks):
        return np.zeros((0, 2)), np.zeros((0, 2))
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(marks[0][1], marks[1][1], k=2)
    good = [pair[0] for pair in pairs if len(pair) == 2 and pair[0].distance < 0.8 * pair[1].distance]
    if not good:
        return np.zeros((0, 2)), np.zeros((0, 2))
    here = np.array([marks[0][0][match.queryIdx].pt for match in good]) * _FEATURE_MM
    there = np.array([marks[1][0][match.trainIdx].pt for match in good]) * _FEATURE_MM
    # The two lie side by side on the same board: nothing but a shift along it, and no shift across.
    shift = here - there
    level = np.abs(shift[:, 1]) < 4
    if not level.any():
        return np.zeros((0, 2)), np.zeros((0, 2))
    votes = np.array([(np.abs(shift[level, 0] - s) < 4).sum() for s in shift[level, 0]])
    best = shift[level, 0][int(votes.argmax())]
    agreed = level & (np.abs(shift[:, 0] - best) < 4)
    return here[agreed], there[agreed]


def _flat(part: _Part, width_mm: float, mm_per_px: float) -> Pixels:
    rows, columns = max(16, round(width_mm / mm_per_px)), max(16, round(part.reach_mm / mm_per_px))
    return _warped(part.pixels, part.plane, 0.0, columns, rows, width_mm, mm_per_px)


def _warped(
    pixels: Pixels,
    plane: PlaneMap,
    start_mm: float,
    columns: int,
    rows: int,
    width_mm: float,
    mm_per_px: float,
) -> Pixels:
    x = start_mm + (np.linspace(0, columns - 1, max(2, columns // 16)) + 0.5) * mm_per_px
    y = width_mm - (np.linspace(0, rows - 1, max(2, rows // 16)) + 0.5) * width_mm / rows
    gx, gy = np.meshgrid(x, y)
    px = plane.to_picture(np.column_stack([gx.ravel(), gy.ravel()])).reshape(*gx.shape, 2).astype(np.float32)
    at_x = np.arange(columns, dtype=np.float32) * np.float32((len(x) - 1) / max(1, columns - 1))
    at_y = np.arange(rows, dtype=np.float32) * np.float32((len(y) - 1) / max(1, rows - 1))
    ax, ay = np.meshgrid(at_x, at_y)
    u, v = (
        cv2.remap(np.ascontiguousarray(px[..., k]), ax, ay, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for k in (0, 1)
    )
    return np.asarray(cv2.remap(pixels, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.uint8)


def _blended(
    pictures: list[Pixels],
    planes: list[PlaneMap],
    spans: list[tuple[float, float]],
    size: tuple[float, float],
    mm_per_px: float,
) -> Pixels:
    columns, rows = round(size[0] / mm_per_px), round(size[1] / mm_per_px)
    total = np.zeros((rows, columns, 3), np.float32)
    weight = np.zeros(columns, np.float32)
    for k, (pixels, plane, (near, far)) in enumerate(zip(pictures, planes, spans, strict=True)):
        first, last = max(0, round(near / mm_per_px)), min(columns, round(far / mm_per_px))
        if last <= first:
            continue
        seen = _warped(pixels, plane, first * mm_per_px, last - first, rows, size[1], mm_per_px)
        x = (np.arange(first, last) + 0.5) * mm_per_px
        # Each picture fades out towards where it stops, unless the board itself ends there.
        share = np.ones(last - first, np.float32)
        if k > 0:
            share = np.minimum(share, (x - near) / max(1.0, spans[k - 1][1] - near))
        if k < len(pictures) - 1:
            share = np.minimum(share, (far - x) / max(1.0, far - spans[k + 1][0]))
        share = np.clip(share, 0.002, 1).astype(np.float32)
        total[:, first:last] += seen * share[None, :, None]
        weight[first:last] += share
    return np.asarray(np.clip(total / np.maximum(weight, 1e-6)[None, :, None] + 0.5, 0, 255), np.uint8)
