"""Tables of errands: long work that is done outside the request that asked for it."""

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Document, Id, UtcTime, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.errand import ErrandState


class ErrandRow(Signed, Base):
    """An errand as it stands. worker, beat: who is at it, and when it last said so."""

    __tablename__ = "errand"
    __table_args__ = (Index(None, "state", "id"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    kind: Mapped[str] = mapped_column(Word)
    wanted: Mapped[dict[str, Any]] = mapped_column(Document)
    state: Mapped[ErrandState] = mapped_column(one_of(ErrandState, "state"))
    stop: Mapped[str] = mapped_column(Word)
    progress: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))
    result: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))
    complaint: Mapped[dict[str, Any] | None] = mapped_column(Document(none_as_null=True))
    attempts: Mapped[int] = mapped_column(Id)
    worker: Mapped[str | None] = mapped_column(Word)
    beat: Mapped[datetime | None] = mapped_column(UtcTime)
    begun: Mapped[datetime | None] = mapped_column(UtcTime)
    ended: Mapped[datetime | None] = mapped_column(UtcTime)


class ErrandFileRow(Base):
    """A file given to an errand, kept until the errand is over."""

    __tablename__ = "errand_file"

    errand_id: Mapped[int] = mapped_column(ForeignKey("errand.id"), primary_key=True)
    name: Mapped[str] = mapped_column(Word, primary_key=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)
