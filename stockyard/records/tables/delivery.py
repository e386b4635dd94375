"""The table of deliveries: what a docket said, kept as it was booked."""

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Day, Document, Id, Money, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.delivery import Measure


class DeliveryRow(Signed, Base):
    """One docket of one supplier. Never changed: a wrong one is reversed and received again."""

    __tablename__ = "delivery"
    __table_args__ = (UniqueConstraint("supplier_id", "docket", "attempt"), Index(None, "docket"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    supplier_id: Mapped[int] = mapped_column(ForeignKey("supplier.id"))
    docket: Mapped[str] = mapped_column(Word)
    # 1, and one more each time the docket was reversed and is received anew.
    attempt: Mapped[int] = mapped_column(Id)
    received_on: Mapped[date] = mapped_column(Day)
    currency: Mapped[str] = mapped_column(Word)
    measure: Mapped[Measure] = mapped_column(one_of(Measure, "measure"))
    goods: Mapped[Decimal] = mapped_column(Money)
    charges: Mapped[dict[str, str]] = mapped_column(Document)
    tax: Mapped[Decimal] = mapped_column(Money)
    total: Mapped[Decimal] = mapped_column(Money)
    provenance: Mapped[dict[str, Any]] = mapped_column(Document)
    source_file: Mapped[str] = mapped_column(Word)
    source_sha256: Mapped[str] = mapped_column(Word)
