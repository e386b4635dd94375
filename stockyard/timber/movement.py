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
    FINISH = "finish"  # staves become a panel: the job bears them
    ADD_COST = "add_cost"  # milling, drying: what brings a board to its present condition
    WRITE_UP = "write_up"  # a write-down taken back, up to cost at most
    USE = "use"  # glue, screws, finish


class Account(StrEnum):
    """Where value lies: in a piece of the stock or a consumable, or where it came from or went to."""

    STOCK = "stock"
    SUPPLIES = "supplies"  # glue, screws, finish on the shelf
    SUPPLIERS = "suppliers"  # owed for what was delivered
    JOBS = "jobs"  # cost that jobs have used up
    WRITE_DOWNS = "write_downs"  # stock that is worth less than it cost
    LOSSES = "losses"  # disposed of, or not found
    CONVERSION = "conversion"  # milling, drying and other work that was added to boards


@dataclass(frozen=True, slots=True)
class Line:
    """What a movement changes for one piece (account STOCK), one consumable, or the other side of the value.

    on_hand, promised: -1, 0 or 1. value: exact money. volume_mm3: whole mm3. job: for account JOBS.
    supply, quantity: for account SUPPLIES, in the supply's own unit, to a thousandth of it.
    """

    piece: str | None = None
    on_hand: int = 0
    promised: int = 0
    value: Decimal = Decimal(0)
    volume_mm3: int = 0
    account: Account = Account.STOCK
    job: str | None = None
    supply: str | None = None
    quantity: Decimal = Decimal(0)


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
