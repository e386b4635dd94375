"""Movements: what happened to the stock, line by line. What they add up to is known by the ledger."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum


class MovementKind(StrEnum):
    """What happened."""

    RECEIVE = "receive"
    ALLOCATE = "allocate"
    RELEASE = "release"
    CUT = "cut"
    COUNT = "count"
    WRITE_DOWN = "write_down"
    DISPOSE = "dispose"
    REVERSE = "reverse"


class Account(StrEnum):
    """Where value lies: in a piece of the stock, or where it came from or went to."""

    STOCK = "stock"
    SUPPLIERS = "suppliers"  # owed for what was delivered
    JOBS = "jobs"  # cost that jobs have used up
    WRITE_DOWNS = "write_downs"  # stock that is worth less than it cost
    LOSSES = "losses"  # disposed of, or not found


@dataclass(frozen=True, slots=True)
class Line:
    """What a movement changes for one piece (account STOCK), or the other side of its value.

    on_hand, promised: -1, 0 or 1. value: exact money. volume_mm3: whole mm3. job: for account JOBS.
    """

    piece: str | None = None
    on_hand: int = 0
    promised: int = 0
    value: Decimal = Decimal(0)
    volume_mm3: int = 0
    account: Account = Account.STOCK
    job: str | None = None


@dataclass(frozen=True, slots=True)
class Movement:
    """One thing that happened, complete: the values of its lines add up to nothing.

    effective: the day it counts from. plan: the plan it belongs to. supplier, docket: the delivery.
    reverses: the movement it takes back. id, at and who are filled in by the records.
    """

    kind: MovementKind
    lines: tuple[Line, ...]
    effective: date
    cause: str = ""
    plan: int | None = None
    supplier: str | None = None
    docket: str | None = None
    reverses: int | None = None
    id: int | None = None
    at: datetime | None = None
    who: str = ""
