"""Suggested defects on a picture that is at scale, by the learned reader, the classical one, or both."""

from dataclasses import dataclass, field, replace
from typing import Literal, get_args

import numpy as np
from shapely import LineString, Polygon

from stockyard.errors import BadInput, MissingPart
from stockyard.photos.decode import Pixels
from stockyard.photos.evidence import Field, Mask
from stockyard.photos.kept_face import AtScale
from stockyard.photos.kinds import Traits, judge
from stockyard.photos.learned import Read, read_picture, scale_notes
from stockyard.photos.likelihood import fitted_as, point_likelihoods, region_likelihoods
from stockyard.photos.net import learned_reader
from stockyard.photos.opencv import cv2
from stockyard.photos.openings import opening_mm
from stockyard.photos.plane import Points
from stockyard.photos.ready import Grain, Ready, made_ready
from stockyard.photos.regions import FEATURES, LOOKS, Region, find_regions
from stockyard.timber import DefectKind, Outline

_CROWD_PER_DM2 = 8.0  # checked wood has a few lines to the square decimetre, figured veneer dozens
_SIDE_MM = 1.2  # how well the sides of a face are found in a photograph
_USUAL_LEAST = {"learned": 0.3, "classical": 0.25}  # as sure as a suggestion has to be, where nothing is set
_UNSEEN = 0.4  # of the classical reader's sureness, for what the learned one does not see

CRACKED = frozenset({DefectKind.CRACK, DefectKind.CHECK, DefectKind.SPLIT, DefectKind.SHAKE})

Reader = Literal["learned", "classical", "both"]


@dataclass(frozen=True, slots=True)
class DetectionSettings:
    """What may be set, kept with every result.

    least_confidence: suggestions below it are not made [0..1]; None for what is usual for the reader.
    least_mm: nor those whose longest side is smaller. read_mm: the finest pixel (across, along) that the
    classical reader reads; a finer picture is brought to it. reader: which reads; the classical one does
    where the learned one cannot.
    """

    least_confidence: float | None = None
    least_mm: float = 2.0
    read_mm: tuple[float, float] = (0.229, 0.424)
    reader: Reader = "learned"

    def __post_init__(self) -> None:
        sure = self.least_confidence is None or 0 < self.least_confidence < 1
        if not (sure and self.least_mm > 0 and min(self.read_mm) > 0):
            raise BadInput("Detection settings: confidence lies between 0 and 1, sizes are above 0 mm.")
        if self.reader not in get_args(Reader):
            raise BadInput(f"A picture is read by {', '.join(get_args(Reader))}, not by {self.reader!r}.")

    def least(self, reader: Reader) -> float:
        """How sure a suggestion of a reader has to be."""
        usual = _USUAL_LEAST["classical" if reader == "classical" else "learned"]
        return usual if self.least_confidence is None else self.least_confidence


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One defect that may be there.

    outline_px: (n, 2) polygon (column, row) of the picture given. box_px: (left, top, right, bottom) of it.
    confidence: that there is a defect, of whatever kind. could_be: other kinds it may be, likeliest first.
    length_mm: along the grain. width_mm: greatest, across it. opening_mm: of a crack. at_end, at_edge: it
    reaches an end or an edge of the board.
    """

    kind: DefectKind
    outline_px: Points
    box_px: tuple[float, float, float, float]
    confidence: float
    could_be: tuple[DefectKind, ...]
    length_mm: float
    width_mm: float
    opening_mm: float | None
    at_end: bool
    at_edge: bool


@dataclass(frozen=True, slots=True)
class Detection:
    """What was found, likeliest first, and how.

    fitted: the name of the figures it was judged by. reader: which did read. notes: why another did than was
    asked for, and what the picture's scale keeps hidden; a sentence each.
    """

    suggestions: tuple[Suggestion, ...]
    settings: DetectionSettings
    mm_per_px: tuple[float, float]
    grain: Grain
    fitted: str = field(default_factory=fitted_as)
    reader: Reader = "classical"
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FaceSuggestion:
    """A suggestion in the board's frame. outline: mm. seen: as it was found in the true-scale picture."""

    outline: Outline
    seen: Suggestion


def detect(
    image: Pixels,
    mm_per_px: tuple[float, float],
    grain: Grain = "vertical",
    settings: DetectionSettings | None = None,
    mask: Mask | None = None,
) -> Detection:
    """Suggest the defects on a picture of a board at scale.

    image: (rows, columns, 3) uint8 RGB. mm_per_px: a pixel's size (across, along) the grain [mm, 0.01..5].
    grain: which way the grain runs in the picture. mask: 255 on the board; found against its ground if None.
    Raises BadInput for a picture, scale or grain that cannot be meant.
    """
    settings = settings or DetectionSettings()
    if image.ndim != 3 or image.shape[2] != 3 or image.dtype != np.uint8 or min(image.shape[:2]) < 16:
        raise BadInput("A picture to read is an 8-bit RGB array of at least 16 x 16 pixels.")
    if not all(0.01 <= one <= 5 for one in mm_per_px):
        raise BadInput("The scale of a picture lies between 0.01 and 5 mm a pixel; give it as ACROSS,ALONG.")
    if grain not in ("vertical", "horizontal"):
        raise BadInput(f"The grain runs 'vertical' or 'horizontal' in the picture, not {grain!r}.")
    if settings.reader == "classical":
        return _classical(image, mm_per_px, grain, settings, mask)
    try:
        net = learned_reader()
        read = read_picture(net, image, mm_per_px, grain, settings.least("learned"), settings.least_mm, mask)
    except MissingPart as trouble:
        return replace(_classical(image, mm_per_px, grain, settings, mask), notes=(trouble.message,))
    upright = grain == "horizontal"
    lying = image if upright else np.ascontiguousarray(image.transpose(1, 0, 2))
    made = [_as_suggestion(one, lying, mm_per_px, upright) for one in read]
    name, notes = net.name, scale_notes(mm_per_px)
    if settings.reader == "both":
        classical = _classical(image, mm_per_px, grain, settings, mask)
        made = _together(made, classical.suggestions, settings.least("learned"))
        name = f"{net.name}; {classical.fitted}"
    return Detection(tuple(made), settings, mm_per_px, grain, name, settings.reader, notes)


def fitted_by(settings: DetectionSettings) -> str:
    """The name of the figures that a reading with these settings is judged by, as a Detection has it."""
    if settings.reader == "classical":
        return fitted_as()
    try:
        name = learned_reader().name
    except MissingPart:
        return fitted_as()
    return name if settings.reader == "learned" else f"{name}; {fitted_as()}"


def _classical(
    image: Pixels,
    mm_per_px: tuple[float, float],
    grain: Grain,
    settings: DetectionSettings,
    mask: Mask | None,
) -> Detection:
    ready = made_ready(image, mm_per_px, grain, settings.read_mm, mask)
    points = point_likelihoods(ready.evidence, ready.mask)
    least_mm = settings.least_mm * ready.evidence.mm[0] / ready.mm[0]
    regions = find_regions(points, ready.evidence, ready.mask, least_mm)
    likely = region_likelihoods(regions)
    face_dm2 = float((ready.mask > 0).sum()) * ready.evidence.mm[0] * ready.evidence.mm[1] / 10_000
    kept = _uncrowded(_kept(regions, likely, settings.least("classical")), regions, face_dm2)
    made = [_suggestion(regions[k], likely[k], ready, mm_per_px, grain == "horizontal") for k in kept]
    return Detection(tuple(made), settings, mm_per_px, grain)


def _as_suggestion(one: Read, lying: Pixels, mm: tuple[float, float], upright: bool) -> Suggestion:
    opening = opening_mm(lying, one.outline, mm) if one.kind in CRACKED else None
    seen = one.outline if upright else one.outline[:, ::-1]
    low, high = seen.min(axis=0), seen.max(axis=0)
    return Suggestion(
        one.kind, seen, (float(low[0]), float(low[1]), float(high[0]), float(high[1])), one.confidence,
        one.could_be, one.length_mm, one.width_mm, opening, one.at_end, one.at_edge,
    )  # fmt: skip


def _together(learned: list[Suggestion], classical: tuple[Suggestion, ...], least: float) -> list[Suggestion]:
    """All that the learned reader sees, and, less sure, what the classical one alone does."""
    alone = [
        replace(one, confidence=round(one.confidence * _UNSEEN, 4))
        for one in classical
        if one.confidence * _UNSEEN >= least and not any(_meet(one.box_px, other.box_px) for other in learned)
    ]
    return sorted(learned + alone, key=lambda one: -one.confidence)


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return min(one[2], other[2]) > max(one[0], other[0]) and min(one[3], other[3]) > max(one[1], other[1])


def suggest(face: AtScale, settings: DetectionSettings | None = None) -> tuple[FaceSuggestion, ...]:
    """Suggest the defects of a true-scale face, in its board's frame, likeliest first."""
    scale = face.mm_per_px
    found = detect(face.pixels, (scale, scale), "horizontal", settings, _bare_wood(face))
    return tuple(FaceSuggestion(_in_board(one, face), one) for one in found.suggestions)


def _bare_wood(face: AtScale) -> Mask:
    """255 where wood is seen: off the cards, and a hair inside the sides, which are found only so well."""
    rows, columns = face.pixels.shape[:2]
    mask = np.zeros((rows, columns), np.uint8)
    hair = max(1, round(_SIDE_MM / face.mm_per_px))
    mask[hair:-hair, hair:-hair] = 255
    for outline in face.covered:
        points = np.array([(x / face.mm_per_px, (face.width_mm - y) / face.mm_per_px) for x, y in outline])
        cv2.fillPoly(mask, [np.round(points - 0.5).astype(np.int32)], 0)
    return mask


def _in_board(one: Suggestion, face: AtScale) -> Outline:
    rows, columns = face.pixels.shape[:2]
    x = np.clip((one.outline_px[:, 0] + 0.5) * face.length_mm / columns, 0, face.length_mm)
    y = np.clip(face.width_mm - (one.outline_px[:, 1] + 0.5) * face.width_mm / rows, 0, face.width_mm)
    return tuple((round(float(a), 2), round(float(b), 2)) for a, b in zip(x, y, strict=True))


def _kept(regions: list[Region], likely: Field, least: float) -> list[int]:
    """The best of every nest of outlines, likeliest first."""
    sure = 1 - likely[:, 0] if len(regions) else np.zeros(0)
    boxes = [(r.columns.min(), r.rows.min(), r.columns.max() + 1, r.rows.max() + 1) for r in regions]
    kept: list[int] = []
    for k in np.argsort(-sure, kind="stable"):
        if sure[k] < least:
            break
        if not any(_same_place(boxes[k], boxes[other]) for other in kept):
            kept.append(int(k))
    return kept


def _uncrowded(kept: list[int], regions: list[Region], face_dm2: float) -> list[int]:
    """Without the lines that are the wood's own figure: so many of a kind on a face are no flaws in it."""
    lines = [k for k in kept if regions[k].family == "line"]
    if len(lines) < _CROWD_PER_DM2 * max(1.0, face_dm2):
        return kept
    at = FEATURES.index("top_fine_line")
    usual = float(np.median([regions[k].features[at] for k in lines]))
    return [k for k in kept if k not in lines or regions[k].features[at] > 2.5 * usual]


def _same_place(one: tuple[int, ...], better: tuple[int, ...]) -> bool:
    wide = min(one[2], better[2]) - max(one[0], better[0])
    high = min(one[3], better[3]) - max(one[1], better[1])
    if wide <= 0 or high <= 0:
        return False
    own = (one[2] - one[0]) * (one[3] - one[1])
    other = (better[2] - better[0]) * (better[3] - better[1])
    shared = wide * high
    # A smaller one mostly inside a better one is part of it; a larger one is another reading of it.
    return shared > 0.5 * min(own, other) and (own <= other or shared > 0.5 * own)


def _suggestion(
    region: Region, likely: Field, ready: Ready, mm: tuple[float, float], upright: bool
) -> Suggestion:
    lying, work, mask, work_mm = ready.lying, ready.work, ready.mask, ready.mm
    length = float(np.ptp(region.columns) + 1) * work_mm[1]
    width = float(np.ptp(region.rows) + 1) * work_mm[0]
    area = len(region.rows) * work_mm[0] * work_mm[1]
    traits = Traits.of(region, mask, work_mm, length, width, area)
    kind, could_be = judge(dict(zip(LOOKS, (float(p) for p in likely), strict=True)), traits)
    outline = _outline(region, ready.evidence.mm)
    stretch = np.array([lying.shape[1] / work.shape[1], lying.shape[0] / work.shape[0]])
    placed = (outline + 0.5) * stretch - 0.5
    opening = opening_mm(lying, placed, mm) if kind in CRACKED else None
    seen = placed if upright else placed[:, ::-1]
    low, high = seen.min(axis=0), seen.max(axis=0)
    return Suggestion(
        kind, seen, (float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        round(1 - float(likely[0]), 4), could_be, length, width, opening, traits.at_end, traits.at_edge,
    )  # fmt: skip


def _outline(region: Region, mm: tuple[float, float]) -> Points:
    """A polygon around a region's points, small gaps bridged, in columns and rows of the worked picture."""
    top, left = int(region.rows.min()) - 2, int(region.columns.min()) - 2
    shape = (int(region.rows.max()) - top + 3, int(region.columns.max()) - left + 3)
    drawn = np.zeros(shape, np.uint8)
    drawn[region.rows - top, region.columns - left] = 1
    bridge = np.ones((max(1, round(1.2 / mm[0])), max(1, round(7.0 / mm[1]))), np.uint8)
    joined = np.maximum(cv2.morphologyEx(drawn, cv2.MORPH_CLOSE, bridge), drawn)
    contours, _ = cv2.findContours(joined, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = max(contours, key=len) if len(contours) == 1 else cv2.convexHull(np.vstack(contours))
    ring = contour.reshape(-1, 2).astype(float)
    # Half a pixel outwards: the polygon goes round the points, not through the middles of the outer ones.
    rim = LineString(np.vstack([ring, ring[:1]])).buffer(0.5, cap_style="square", join_style="mitre")
    shape = rim.union(Polygon(ring).buffer(0)) if len(ring) > 3 else rim
    smooth = shape.simplify(0.7)
    largest = max(getattr(smooth, "geoms", [smooth]), key=lambda one: one.area)
    return np.asarray(largest.exterior.coords, np.float64)[:-1] + np.array([left, top], np.float64)
