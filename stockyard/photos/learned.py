"""The learned reader at work: a picture at scale -> flaws with kind, outline, confidence and other kinds."""

from dataclasses import dataclass

import numpy as np

from stockyard.photos.classes import CLASSES, READ_MM, TOLD_MM
from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Mask
from stockyard.photos.ground import board_mask
from stockyard.photos.kinds import Traits, judge
from stockyard.photos.masks_to_defects import Bits, Patch, find_patches, outline_of
from stockyard.photos.net import FaceNet
from stockyard.photos.opencv import cv2
from stockyard.photos.plane import Points
from stockyard.photos.ready import Grain
from stockyard.photos.tiles import at_reading_scale, told_of
from stockyard.timber import DefectKind

_COARSE = 1.6  # a picture this many times coarser than the reading scale hides fine cracks
_UNEVEN = 2.5  # a pixel this much longer than wide, or wider than long, against the reader's own
_LOOK_OF = {"gum": "resin"}  # the reader's classes by the names that kinds are judged under
_NEAR_MM = 1.5  # how near to an edge a flaw reaches it
_TOO_NARROW_MM = 76.0  # 3 in, the narrowest board of the NHLA's grades (chart at hooddistribution.com)
_USUAL_MM = 130.0  # and about the middle of what boards are


@dataclass(frozen=True, slots=True)
class Read:
    """One flaw as read.

    outline: (n, 2) (column, row) of the picture with its grain along the columns. could_be: likeliest first.
    """

    kind: DefectKind
    could_be: tuple[DefectKind, ...]
    confidence: float
    outline: Points
    length_mm: float
    width_mm: float
    at_end: bool
    at_edge: bool


def read_picture(
    net: FaceNet,
    image: Pixels,
    mm_per_px: tuple[float, float],
    grain: Grain,
    least_confidence: float,
    least_mm: float,
    mask: Mask | None = None,
) -> list[Read]:
    """Every flaw that the learned reader sees, surest first.

    image: (rows, columns, 3) RGB. mm_per_px: a pixel (across, along). mask: 255 on the board; found against
    its ground if None. Outlines are (column, row) of the picture laid with its grain along the columns.
    """
    full = board_mask(image) if mask is None else mask
    upright = grain == "horizontal"
    lying = image if upright else np.ascontiguousarray(image.transpose(1, 0, 2))
    on_board = full if upright else np.ascontiguousarray(full.T)
    by = 1.0 if mask is not None else _told_too_fine(on_board, mm_per_px[0])
    top, left = 0, 0
    if mask is not None:
        # A face put to scale has a hair of bench or shadow along its sides, where its own mask ends.
        top, left, lying, on_board = _cut_to(lying, on_board)
    told = told_of(at_reading_scale(lying, (mm_per_px[0] * by, mm_per_px[1] * by)), net.ask)
    size = (told.shape[2], told.shape[1])
    inside = np.asarray(cv2.resize(on_board, size, interpolation=cv2.INTER_NEAREST), np.uint8)
    patches = find_patches(told, inside > 0, least_mm * by)
    if not patches:
        return []
    sure = net.sure(np.stack([patch.measures for patch in patches]))
    stretch = np.array([lying.shape[1] / told.shape[2], lying.shape[0] / told.shape[1]])
    shift = np.array([left, top], np.float64)
    return [
        _read(patches[k], float(sure[k]), inside, stretch, shift, by)
        for k in np.argsort(-sure, kind="stable")
        if sure[k] >= least_confidence
    ]


def _cut_to(lying: Pixels, mask: Bits) -> tuple[int, int, Pixels, Bits]:
    """The smallest upright part that holds all the board, and where its top and left are."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if len(rows) < 16 or len(columns) < 16:
        return 0, 0, lying, mask
    place = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
    return (
        int(rows[0]),
        int(columns[0]),
        np.ascontiguousarray(lying[place]),
        np.ascontiguousarray(mask[place]),
    )


def _told_too_fine(mask: Bits, across_mm: float) -> float:
    """How many times larger a pixel must be than told: a board whose edges both show is no mere stick."""
    across = (mask > 0).sum(axis=0)
    seen = across[across > 0]
    if not len(seen) or mask[0].any() or mask[-1].any():
        return 1.0
    width = float(np.median(seen)) * across_mm
    return _USUAL_MM / width if width < _TOO_NARROW_MM else 1.0


def scale_notes(mm: tuple[float, float]) -> tuple[str, ...]:
    """What a picture's scale keeps the learned reader from seeing; nothing where it is fine and even."""
    notes = []
    if mm[0] > _COARSE * READ_MM[0] or mm[1] > _COARSE * READ_MM[1]:
        notes.append(
            f"The picture is coarse ({mm[0]:.2g} x {mm[1]:.2g} mm a pixel; the reader looks at {READ_MM[0]} "
            f"x {READ_MM[1]} mm): fine cracks may not show."
        )
    ratio = mm[1] / mm[0]
    if not 1 / _UNEVEN < ratio < _UNEVEN:
        notes.append(
            f"A pixel is {max(ratio, 1 / ratio):.1f} times as {'long' if ratio > 1 else 'wide'} as "
            f"{'wide' if ratio > 1 else 'long'}: outlines are rough that way."
        )
    return tuple(notes)


def _read(patch: Patch, sure: float, inside: Bits, stretch: Points, shift: Points, by: float) -> Read:
    length, width = patch.length_mm, patch.width_mm
    area = len(patch.rows) * TOLD_MM[0] * TOLD_MM[1]
    traits = _traits(patch, inside, length, width, area)
    shares = {_LOOK_OF.get(name, name): float(patch.shares[k]) for k, name in enumerate(CLASSES) if k > 0}
    rim = shares.pop("wane")
    # Wane is bark and missing wood along an edge: what it is called is judged by where it lies.
    is_rim = rim > max(share for name, share in shares.items() if name != "clear")
    shares["bark"] += rim
    kind, could_be = judge(shares, traits)
    if is_rim and traits.at_edge and kind is not DefectKind.WANE:
        could_be = (kind, *(one for one in could_be if one is not DefectKind.WANE))
        kind = DefectKind.WANE
    placed = (outline_of(patch) + 0.5) * stretch - 0.5 + shift
    return Read(
        kind, could_be, round(sure, 4), placed, length / by, width / by, traits.at_end, traits.at_edge
    )


def _traits(patch: Patch, inside: Bits, length: float, width: float, area: float) -> Traits:
    rows, columns = inside.shape
    down, right = round(_NEAR_MM / TOLD_MM[0]), round(_NEAR_MM / TOLD_MM[1])
    edge, end = np.zeros(len(patch.rows), bool), np.zeros(len(patch.rows), bool)
    for sign in (-1, 1):
        # Where the picture stops the board may go on: only ground that is seen ends it.
        edge |= inside[np.clip(patch.rows + sign * down, 0, rows - 1), patch.columns] == 0
        end |= inside[patch.rows, np.clip(patch.columns + sign * right, 0, columns - 1)] == 0
    along = len(np.unique(patch.columns[edge])) / max(1, len(np.unique(patch.columns)))
    return Traits(length, width, area, bool(end.any()), bool(edge.any()), along)
