"""Tables of jobs, the plans made for them, the boards those plans take, and the steps they ask for."""

from datetime import date
from typing import Any

from sqlalchemy import ForeignKey, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from stockyard.records.columns import Day, Document, Id, Sentence, Word, one_of
from stockyard.records.tables.base import Base, Signed
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.step import Before, StepKind, StepState


class JobRow(Base):
    """A job by name; `version` names the one of its documents that stands."""

    __tablename__ = "job"

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    name: Mapped[str] = mapped_column(Word, unique=True)
    version: Mapped[int] = mapped_column(Id)


class JobVersionRow(Signed, Base):
    """A job's document as it was handed in."""

    __tablename__ = "job_version"
    __table_args__ = (UniqueConstraint("job_id", "version"),)

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    version: Mapped[int] = mapped_column(Id)
    document: Mapped[dict[str, Any]] = mapped_column(Document)


class PlanRow(Signed, Base):
    """A plan, what it was made from, and how far it has come. Only its status ever changes."""

    __tablename__ = "plan"
    __table_args__ = (Index(None, "job_id"), Index(None, "status"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    number: Mapped[int] = mapped_column(Id, unique=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    job_version: Mapped[int] = mapped_column(Id)
    status: Mapped[PlanStatus] = mapped_column(one_of(PlanStatus, "status"))
    document: Mapped[dict[str, Any]] = mapped_column(Document)
    stock: Mapped[dict[str, Any]] = mapped_column(Document)


class PlanBoardRow(Base):
    """A board that a plan cuts, at the version the plan saw."""

    __tablename__ = "plan_board"
    __table_args__ = (Index(None, "piece_id"),)

    plan_id: Mapped[int] = mapped_column(ForeignKey("plan.id"), primary_key=True)
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), primary_key=True)
    seen_version: Mapped[int] = mapped_column(Id)


class StepRow(Base):
    """Something to be done to a defect before its piece can go on, and what was done."""

    __tablename__ = "step"
    __table_args__ = (Index(None, "plan_id"), Index(None, "piece_id"), Index(None, "state"))

    id: Mapped[int] = mapped_column(Id, primary_key=True)
    plan_id: Mapped[int] = mapped_column(ForeignKey("plan.id"))
    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"))
    defect_id: Mapped[int] = mapped_column(ForeignKey("defect.id"))
    kind: Mapped[StepKind] = mapped_column(one_of(StepKind, "kind"))
    method: Mapped[str] = mapped_column(Word)
    quantity: Mapped[str] = mapped_column(Sentence)
    before: Mapped[Before] = mapped_column(one_of(Before, "before"))
    state: Mapped[StepState] = mapped_column(one_of(StepState, "state"))
    product: Mapped[str | None] = mapped_column(Word)
    batch: Mapped[str | None] = mapped_column(Word)
    done_on: Mapped[date | None] = mapped_column(Day)
    done_by: Mapped[str | None] = mapped_column(Word)
