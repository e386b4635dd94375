"""What the workshop writes down about the air of a place: its own, or the room a piece will live in."""

from dataclasses import dataclass
from datetime import datetime

SHOP = "shop"
"""The workshop's own place, where boards are taken to stand."""


@dataclass(frozen=True, slots=True)
class ClimatePlace:
    """A place whose air is logged. zone: whose days and months it keeps, such as "Australia/Melbourne"."""

    name: str
    zone: str


@dataclass(frozen=True, slots=True)
class ClimateLog:
    """What was written down of one place in one go, by hand or from a logger's file.

    source: the file's name, or "by hand". zone: in which its bare times were told. readings: how many it
    added, from `first` to `last`. void: why it was taken back, None while it stands.
    """

    id: int
    place: str
    source: str
    zone: str
    note: str
    readings: int
    first: datetime | None
    last: datetime | None
    void: str | None
    at: datetime
    who: str
