"""What reports are made from besides movements, as plain values."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class StandingPiece:
    """A piece on hand on a day. arrived: when its timber came to the yard; moisture as last read by then."""

    number: str
    kind: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    place: str
    status: str
    supplier: str
    docket: str
    arrived: date
    volume_mm3: int
    worth: Decimal
    moisture_pct: float | None = None
    moisture_on: date | None = None


@dataclass(frozen=True, slots=True)
class PieceFacts:
    """What of a piece does not change: what it is, and whose timber."""

    kind: str
    species: str
    supplier: str


@dataclass(frozen=True, slots=True)
class FoundDefect:
    """A defect found on a delivered board."""

    board: str
    supplier: str
    kind: str
