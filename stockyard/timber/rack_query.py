"""Which pieces are asked for, in which order, and what they come to: a rack list, and what selection sees."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from stockyard.timber.piece import PieceKind, PieceStatus

STANDING = (PieceStatus.FREE, PieceStatus.PROMISED, PieceStatus.IN_WORK)
"""Every status but gone."""


@dataclass(frozen=True, slots=True)
class RackQuery:
    """Pieces that meet all of these; what is empty or None does not bind. [mm; percent]

    at least / at most sizes include the bound. moisture bounds leave out pieces never read.
    delivery: a docket; supplier: narrows it to whose. numbers: these pieces only. cut_by: cut by that plan.
    words: each must begin the number or stand in species, place, docket, supplier or note, in any case.
    unread: True for pieces without a moisture reading only.
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
    cut_by: int | None = None
    length_at_most_mm: float | None = None
    width_at_most_mm: float | None = None
    words: tuple[str, ...] = ()
    unread: bool = False


class RackOrder(StrEnum):
    """In which order pieces stand in a list; within equals by number."""

    NUMBER = "number"
    LONGEST = "longest"
    WIDEST = "widest"
    THICKEST = "thickest"
    DRIEST = "driest"
    DEAREST = "dearest"


@dataclass(frozen=True, slots=True)
class RackTotals:
    """What the pieces a query asks for come to together."""

    pieces: int
    volume_mm3: int
    length_mm: float
    value: Decimal
