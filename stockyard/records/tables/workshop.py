"""Tables of the workshop itself: its settings, its species and suppliers, and the counts behind numbers."""

from datetime import date
from typing import Any

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Day, Document, Id, Sentence, Word
from stockyard.records.tables.base import Base, Signed


class SettingRow(Signed, Base):
    """One dated entry of one setting; the newest of a key stands."""

    __tablename__ = "setting"
    __table_args__ = (Index(None, "key", "id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    key: Mapped[str] = mapped_column(Word)
    value: Mapped[Any] = mapped_column(Document)
    effective: Mapped[date] = mapped_column(Day)


class CountRow(Base):
    """The last number given out in a series ("SG", "plan")."""

    __tablename__ = "running_count"

    series: Mapped[str] = mapped_column(Word, primary_key=True)
    last: Mapped[int] = mapped_column(Id)


class SpeciesRow(Base):
    """A species the workshop buys, the prefix of its boards' numbers, and what else it is called."""

    __tablename__ = "species"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word, unique=True)
    prefix: Mapped[str] = mapped_column(Word)
    botanical: Mapped[list[str]] = mapped_column(Document)
    aliases: Mapped[list[str]] = mapped_column(Document)
    # Origin, note, what a trade name stands for, and figures with their sources.
    particulars: Mapped[dict[str, Any]] = mapped_column(Document)


class SupplierRow(Base):
    """A supplier, with the particulars that provenance asks for."""

    __tablename__ = "supplier"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word, unique=True)
    particulars: Mapped[dict[str, Any]] = mapped_column(Document)
    note: Mapped[str] = mapped_column(Sentence, default="")
