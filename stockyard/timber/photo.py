"""A photograph of a board's face: the pictures kept, how it was put to scale, and what was seen on it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

from stockyard.measures.colour import Lab
from stockyard.timber.defect import DefectKind, Face, Outline


@dataclass(frozen=True, slots=True)
class KeptPicture:
    """A picture as it is kept, named by its content.

    digest: SHA-256 of the file kept. given_digest: of what was handed in; the two differ only where the place
    it was taken at was left out. extension: of its file, such as "jpg". thumb_digest: of its small view.
    width_px, height_px: upright. taken: when the camera says, in the camera's own time. located: the file
    still says where it was taken. name: of the file handed in.
    """

    digest: str
    given_digest: str
    extension: str
    thumb_digest: str
    size_bytes: int
    width_px: int
    height_px: int
    name: str
    taken: datetime | None = None
    located: bool = False


@dataclass(frozen=True, slots=True)
class PhotoSeam:
    """Where two pictures of a strip were joined: by cards or by the wood, and how far they differ there."""

    by: str
    error_mm: float
    shared: int
    overlap_mm: float


@dataclass(frozen=True, slots=True)
class PhotoScale:
    """How a face was put to scale.

    way: "cards", "outline" or "corners". mm_per_px: of the true-scale face kept. seen_mm_per_px: a pixel of
    the photograph at the middle of the face, (along, across). disagrees_pct: how much longer and wider the
    pictures show the board than its logged size; without cards the first is of their ratio. finest_mm: the
    narrowest dark line that can show. error_px: of the cards' corners from the fit. white: of the cards,
    RGB. covered: outlines of the cards [mm]. corners_px: of the face in each picture, in the order (0, 0),
    (L, 0), (L, W), (0, W) of the board's frame; asked: what was given by hand, by name.
    """

    way: str
    mm_per_px: float
    seen_mm_per_px: tuple[float, float]
    disagrees_pct: tuple[float, float]
    finest_mm: float | None = None
    error_px: float | None = None
    cards: tuple[int, ...] = ()
    white: tuple[float, float, float] | None = None
    covered: tuple[Outline, ...] = ()
    seams: tuple[PhotoSeam, ...] = ()
    remarks: tuple[str, ...] = ()
    corners_px: tuple[Outline, ...] = ()
    asked: Mapping[str, Any] = field(default_factory=dict)

    @property
    def seam_error_mm(self) -> float | None:
        """The worst of its seams; None for a single picture."""
        return max((seam.error_mm for seam in self.seams), default=None)


@dataclass(frozen=True, slots=True)
class PhotoColour:
    """The mean colour of the bare wood of a face and the direction of its figure.

    lab: CIELAB under D65. corrected: balanced by a card's white. spread: of points about it [dE76].
    figure_deg: of the lines on the face to the board's length; figure_strength 0..1; across_share: of the
    tone's change that runs along the board, as fiddleback makes it, 0..1.
    """

    lab: Lab
    corrected: bool
    spread: float
    figure_deg: float
    figure_strength: float
    across_share: float


@dataclass(frozen=True, slots=True)
class Photo:
    """A face photographed once, in one picture or several.

    number: of the photo in the yard. length_mm, width_mm: the board's logged size it was put to scale by.
    face_digest: of the true-scale face kept, thumb_digest: of its small view. void: why it was taken back.
    """

    number: int
    piece: str
    face: Face
    pictures: tuple[KeptPicture, ...]
    length_mm: float
    width_mm: float
    scale: PhotoScale
    face_digest: str
    thumb_digest: str
    colour: PhotoColour | None = None
    void: str | None = None
    at: datetime | None = None
    who: str = ""


class Verdict(StrEnum):
    """What a person said of a suggested defect."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"
    SAME = "same"  # as a defect that was on the map already


@dataclass(frozen=True, slots=True)
class Decision:
    """What a person said of a suggestion. Later ones count; earlier ones stay on record.

    defect: the id of the defect it became or met. changed: what differs on the map from what was suggested,
    by fact, as plain JSON values.
    """

    verdict: Verdict
    defect: str | None = None
    changed: Mapping[str, Any] = field(default_factory=dict)
    cause: str = ""
    at: datetime | None = None
    who: str = ""


@dataclass(frozen=True, slots=True)
class SuggestedDefect:
    """A defect that may be there, numbered within its piece ("SG-0017:4").

    outline: of the board's frame [mm]. confidence: that there is a defect, 0..1. could_be: other kinds it may
    be. length_mm, width_mm: along and across the grain. detection, photo: what it was found by and on.
    decided: the newest decision, None while open.
    """

    piece: str
    number: int
    face: Face
    kind: DefectKind
    outline: Outline
    confidence: float
    could_be: tuple[DefectKind, ...] = ()
    length_mm: float = 0.0
    width_mm: float = 0.0
    opening_mm: float | None = None
    at_end: bool = False
    at_edge: bool = False
    photo: int = 0
    detection: int = 0
    decided: Decision | None = None

    @property
    def id(self) -> str:
        """How a person names it."""
        return f"{self.piece}:{self.number}"


@dataclass(frozen=True, slots=True)
class KeptDetection:
    """One reading of a photo. settings: what was set, by name. fitted: the figures it was judged by."""

    id: int
    photo: int
    settings: Mapping[str, Any]
    fitted: str
    at: datetime | None = None
    who: str = ""
