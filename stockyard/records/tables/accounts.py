"""Tables of consumables, of the time that jobs took, and of the quotes that were given."""

from datetime import date
from typing import Any

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Day, Document, Id, Sentence, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.supply import SupplyKind, SupplyUnit


class SupplyRow(Signed, Base):
    """A consumable by name. How much there is, and what it stands for, is summed from movement lines."""

    __tablename__ = "supply"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word, unique=True)
    kind: Mapped[SupplyKind] = mapped_column(one_of(SupplyKind, "kind"))
    unit: Mapped[SupplyUnit] = mapped_column(one_of(SupplyUnit, "unit"))
    note: Mapped[str] = mapped_column(Sentence)


class JobTimeRow(Signed, Base):
    """Time spent on a job in one go; below 0 takes some back."""

    __tablename__ = "job_time"
    __table_args__ = (Index(None, "job_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    day: Mapped[date] = mapped_column(Day)
    minutes: Mapped[int] = mapped_column(Id)
    note: Mapped[str] = mapped_column(Sentence)


class QuoteRow(Signed, Base):
    """A quote as it was given."""

    __tablename__ = "quote"
    __table_args__ = (Index(None, "job_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    plan_id: Mapped[int | None] = mapped_column(ForeignKey("plan.id"))
    document: Mapped[dict[str, Any]] = mapped_column(Document)
