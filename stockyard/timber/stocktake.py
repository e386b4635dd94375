"""A count of what stands in one place: what was expected there, and what was read off the rack."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

Size = tuple[float, float, float]
"""Length, width and thickness. [mm]"""


@dataclass(frozen=True, slots=True)
class Stocktake:
    """One count. outcome: what it came to, as plain JSON values, once it is closed; None while it is open."""

    number: int
    place: str
    at: datetime
    who: str
    closed_at: datetime | None = None
    closed_by: str = ""
    outcome: Mapping[str, Any] | None = None

    @property
    def is_open(self) -> bool:
        """Is it still being counted?"""
        return self.closed_at is None


@dataclass(frozen=True, slots=True)
class Seen:
    """What the books said of a piece at the moment it was read off the rack."""

    on_hand: bool
    place: str
    size_mm: Size


@dataclass(frozen=True, slots=True)
class Scan:
    """A number read off the rack. counted: False takes an earlier reading of it back.

    size_mm: as measured then, if it was. seen: None where the books knew no such piece.
    at and who are filled in by the records.
    """

    number: str
    counted: bool = True
    size_mm: Size | None = None
    seen: Seen | None = None
    at: datetime | None = None
    who: str = ""
