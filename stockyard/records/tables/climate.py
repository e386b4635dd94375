"""Tables of the air: the places logged, what was written down of each in one go, and the readings."""

from datetime import datetime

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Celsius, Id, Sentence, Share, UtcTime, Word
from stockyard.records.tables.base import Base, Signed


class ClimatePlaceRow(Base):
    """A place whose air is logged, and the time zone of its days and months."""

    __tablename__ = "climate_place"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word, unique=True)
    zone: Mapped[str] = mapped_column(Word)


class ClimateLogRow(Signed, Base):
    """What was written down of one place in one go: one reading by hand, or a logger's file."""

    __tablename__ = "climate_log"
    __table_args__ = (Index(None, "place_id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    place_id: Mapped[int] = mapped_column(ForeignKey("climate_place.id"))
    source: Mapped[str] = mapped_column(Sentence)
    zone: Mapped[str] = mapped_column(Word)
    note: Mapped[str] = mapped_column(Sentence)


class ClimateReadingRow(Base):
    """The air at a moment. humidity is a share, 0 to 1."""

    __tablename__ = "climate_reading"
    __table_args__ = (Index(None, "log_id", "read_at"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    log_id: Mapped[int] = mapped_column(ForeignKey("climate_log.id"))
    read_at: Mapped[datetime] = mapped_column(UtcTime)
    temperature_c: Mapped[float] = mapped_column(Celsius)
    humidity: Mapped[float] = mapped_column(Share)


class ClimateVoidRow(Signed, Base):
    """A log taken back, and why. Its readings stay."""

    __tablename__ = "climate_void"

    log_id: Mapped[int] = mapped_column(ForeignKey("climate_log.id"), primary_key=True)
    cause: Mapped[str] = mapped_column(Sentence)
