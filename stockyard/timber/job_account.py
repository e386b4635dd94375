"""What is kept of a job besides its timber: the quote that was given, and the time spent."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class KeptQuote:
    """A quote as it was given. document: its lines and sums, money as text; plan: whose timber it counted."""

    id: int
    job: str
    plan: int | None
    document: Mapping[str, Any]
    at: datetime
    who: str


@dataclass(frozen=True, slots=True)
class TimeEntry:
    """Time spent on a job. minutes: whole, below 0 to take some back."""

    job: str
    on: date
    minutes: int
    note: str
    at: datetime
    who: str
