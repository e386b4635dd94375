"""A plan as the records keep it: its document, what it was made from, and how far it has come."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any


class PlanStatus(StrEnum):
    """How far a plan has come."""

    PROPOSED = "proposed"
    ALLOCATED = "allocated"
    CUT = "cut"
    RELEASED = "released"


@dataclass(frozen=True, slots=True)
class BookedPlan:
    """One plan in the books.

    document: stockyard.plan/1. stock: the stockyard.stock/1 it was made from. seen: every board it cuts, at
    the version it saw.
    """

    number: int
    job: str
    job_version: int
    status: PlanStatus
    document: Mapping[str, Any]
    stock: Mapping[str, Any]
    seen: Mapping[str, int]
    at: datetime
    who: str


@dataclass(frozen=True, slots=True)
class PlanHead:
    """What a list of plans shows: a booked plan without its documents."""

    number: int
    job: str
    job_version: int
    status: PlanStatus
    seen: Mapping[str, int]
    at: datetime
    who: str


@dataclass(frozen=True, slots=True)
class BookedJob:
    """A job's document as it stands (stockyard.job/1), and which version of it that is."""

    name: str
    version: int
    document: Mapping[str, Any]
    at: datetime
    who: str
