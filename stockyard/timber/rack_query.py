"""Which pieces are asked for: the filters of a rack list and of a selection."""

from dataclasses import dataclass

from stockyard.timber.piece import PieceKind, PieceStatus

STANDING = (PieceStatus.FREE, PieceStatus.PROMISED, PieceStatus.IN_WORK)
"""Every status but gone."""


@dataclass(frozen=True, slots=True)
class RackQuery:
    """Pieces that meet all of these; what is empty or None does not bind. [mm; percent]

    at least / at most sizes include the bound. moisture bounds leave out pieces never read.
    delivery: a docket; supplier: narrows it to whose. numbers: these pieces only.
    """

    numbers: tuple[str, ...] | None = None
    species: tuple[str, ...] = ()
    kinds: tuple[PieceKind, ...] = ()
    status: tuple[PieceStatus, ...] = STANDING
    length_at_least_mm: float | None = None
    width_at_least_mm: float | None = None
    thickness_at_least_mm: float | None = None
    thickness_at_most_mm: float | None = None
    moisture_at_least_pct: float | None = None
    moisture_at_most_pct: float | None = None
    place: str | None = None
    delivery: str | None = None
    supplier: str | None = None
    parent: str | None = None
    promised_to: int | None = None
