"""Tables of counts: which place, what was expected there when it began, and what was read off the rack."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Document, Id, Millimetres, UtcTime, Word
from stockyard.records.tables.base import Base, Signed


class StocktakeRow(Signed, Base):
    """A count of one place. open_place is the place while it is open: a place is counted once at a time.

    outcome: what it came to, when it was closed.
    """

    __tablename__ = "stocktake"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    number: Mapped[int] = mapped_column(Id, unique=True)
    place: Mapped[str] = mapped_column(Word)
    open_place: Mapped[str | None] = mapped_column(Word, unique=True)
    closed_at: Mapped[datetime | None] = mapped_column(UtcTime)
    closed_by: Mapped[str | None] = mapped_column(Word)
    outcome: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))


class StocktakeExpectedRow(Base):
    """A piece that stood in the place, by the books, when the count began."""

    __tablename__ = "stocktake_expected"

    stocktake_id: Mapped[int] = mapped_column(ForeignKey("stocktake.id"), primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)


class StocktakeScanRow(Signed, Base):
    """A number read off the rack, the size if it was measured, and what the books said of it at that moment.

    counted: 0 takes an earlier reading back.
    """

    __tablename__ = "stocktake_scan"
    __table_args__ = (Index(None, "stocktake_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    stocktake_id: Mapped[int] = mapped_column(ForeignKey("stocktake.id"))
    number: Mapped[str] = mapped_column(Word)
    counted: Mapped[int] = mapped_column(Id)
    length_mm: Mapped[float | None] = mapped_column(Millimetres)
    width_mm: Mapped[float | None] = mapped_column(Millimetres)
    thickness_mm: Mapped[float | None] = mapped_column(Millimetres)
    seen: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))
