"""A flaw in a board: what it is, on which face, and where."""

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]  # (x along the board, y across it), mm, board frame
Outline = tuple[Point, ...]  # a simple polygon, at least three points, not closed by repetition


class DefectKind(StrEnum):
    """The kinds the trade tells apart."""

    CRACK = "crack"
    CHECK = "check"
    SPLIT = "split"
    SHAKE = "shake"
    BARK_INCLUSION = "bark_inclusion"
    SOUND_KNOT = "sound_knot"
    UNSOUND_KNOT = "unsound_knot"
    GUM_VEIN = "gum_vein"
    GUM_POCKET = "gum_pocket"
    BORER_HOLE = "borer_hole"
    WANE = "wane"
    DECAY = "decay"
    PITH = "pith"
    SAPWOOD = "sapwood"
    STAIN = "stain"


WEAKENING = frozenset(DefectKind) - {
    DefectKind.SOUND_KNOT,
    DefectKind.GUM_VEIN,
    DefectKind.SAPWOOD,
    DefectKind.STAIN,
}
"""Kinds that weaken a glue line or a trimmed end, treated or not."""


class Face(StrEnum):
    """A face of a board. BOTH is for defects that go through, never for a stave's show face."""

    A = "A"
    B = "B"
    BOTH = "both"

    @property
    def other(self) -> "Face":
        """The face seen when the board is turned over; BOTH stays BOTH."""
        return {Face.A: Face.B, Face.B: Face.A, Face.BOTH: Face.BOTH}[self]


@dataclass(frozen=True, slots=True)
class Defect:
    """One flaw, outlined in its board's frame (a defect of face B too: as seen through the board).

    depth_mm: how far below its face it reaches; None when not known; means nothing when through.
    opening_mm: the gap of a crack; None when not measured.
    """

    id: str
    kind: DefectKind
    face: Face
    outline: Outline
    depth_mm: float | None = None
    opening_mm: float | None = None

    @property
    def through(self) -> bool:
        """Does it show on both faces?"""
        return self.face is Face.BOTH

    @property
    def weakening(self) -> bool:
        """Must it stay clear of glue lines and trimmed ends?"""
        return self.kind in WEAKENING
