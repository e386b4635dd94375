"""A delivery: what a supplier's docket said, and where the timber came from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any


class Measure(StrEnum):
    """How the supplier measured: green, before drying took its share of the width, or as delivered."""

    GROSS = "gross"
    NET = "net"


@dataclass(frozen=True, slots=True)
class Supplier:
    """A supplier. particulars: what provenance asks for, such as business number and address."""

    name: str
    particulars: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Delivery:
    """One docket of one supplier, unique together.

    goods: the timber; charges: freight and others by name; both without recoverable tax. tax: recoverable,
    not part of what the timber cost. total: all that the docket asks for. All exact money of `currency`.
    provenance: species as invoiced, harvest place, claim and certificate code ..., as plain JSON values.
    source_file, source_sha256: the tally it was read from, if any.
    at, who: when it was written down and by whom; filled in by the records.
    """

    supplier: str
    docket: str
    received_on: date
    currency: str
    measure: Measure = Measure.NET
    goods: Decimal = Decimal(0)
    charges: Mapping[str, Decimal] = field(default_factory=dict)
    tax: Decimal = Decimal(0)
    total: Decimal = Decimal(0)
    provenance: Mapping[str, Any] = field(default_factory=dict)
    source_file: str = ""
    source_sha256: str = ""
    at: datetime | None = None
    who: str = ""
