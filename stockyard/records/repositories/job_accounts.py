"""What is kept of jobs besides their timber: quotes as given, and time spent."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import func, insert, select

from stockyard.records.columns import Money
from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import (
    JobRow,
    JobTimeRow,
    MovementLineRow,
    MovementRow,
    PieceRow,
    PlanRow,
    QuoteRow,
)
from stockyard.timber.job_account import KeptQuote, TimeEntry
from stockyard.timber.movement import Account, MovementKind


class JobAccountRepository(Repository):
    """Quotes and time of jobs by name, and what the ledger says that they bear."""

    def keep_quote(self, job: str, plan: int | None, document: Mapping[str, Any]) -> KeptQuote:
        """Keep a quote as given. Raises NotFound for no such job or plan."""
        row = {
            "job_id": self._work.jobs.row_ids({job})[job],
            "plan_id": None if plan is None else self._work.plans.row_ids({plan})[plan],
            "document": dict(document),
            **self._signature,
        }
        self._connection.execute(insert(QuoteRow), row)
        return self.quotes(job)[-1]

    def quotes(self, job: str) -> tuple[KeptQuote, ...]:
        """Every quote kept of a job, the oldest first."""
        rows = self._connection.execute(
            select(QuoteRow.id, JobRow.name, PlanRow.number, QuoteRow.document, QuoteRow.at, QuoteRow.who)
            .join(JobRow, JobRow.id == QuoteRow.job_id)
            .outerjoin(PlanRow, PlanRow.id == QuoteRow.plan_id)
            .where(JobRow.name == job)
            .order_by(QuoteRow.id)
        )
        return tuple(KeptQuote(*row) for row in rows)

    def add_time(self, job: str, on: date, minutes: int, note: str) -> None:
        """Note time spent on a job. Raises NotFound for no such job."""
        row = {
            "job_id": self._work.jobs.row_ids({job})[job],
            "day": on,
            "minutes": minutes,
            "note": note,
            **self._signature,
        }
        self._connection.execute(insert(JobTimeRow), row)

    def times(self, job: str) -> tuple[TimeEntry, ...]:
        """Every entry of time of a job, in the order noted."""
        rows = self._connection.execute(
            select(
                JobRow.name,
                JobTimeRow.day,
                JobTimeRow.minutes,
                JobTimeRow.note,
                JobTimeRow.at,
                JobTimeRow.who,
            )
            .join(JobRow, JobRow.id == JobTimeRow.job_id)
            .where(JobRow.name == job)
            .order_by(JobTimeRow.id)
        )
        return tuple(TimeEntry(*row) for row in rows)

    def borne(self, job: str) -> dict[MovementKind, Decimal]:
        """What a job bears by the ledger, by what happened; a movement taken back takes its own kind off."""
        original = MovementRow.__table__.alias("original")
        kind = func.coalesce(original.c.kind, MovementRow.kind)
        rows = self._connection.execute(
            select(kind, func.sum(MovementLineRow.value, type_=Money()))
            .join(MovementRow, MovementRow.id == MovementLineRow.movement_id)
            .outerjoin(original, original.c.id == MovementRow.reverses_id)
            .join(JobRow, JobRow.id == MovementLineRow.job_id)
            .where(JobRow.name == job, MovementLineRow.account == Account.JOBS)
            .group_by(kind)
        )
        return {MovementKind(word): value for word, value in rows}

    def in_work(self, job: str) -> tuple[int, Decimal]:
        """Staves cut for a job that stand in the stock still: how many, and what they stand for."""
        count, value = self._connection.execute(
            select(func.count(), func.sum(PieceRow.value, type_=Money()))
            .join(PlanRow, PlanRow.id == PieceRow.cut_plan_id)
            .join(JobRow, JobRow.id == PlanRow.job_id)
            .where(JobRow.name == job, PieceRow.on_hand == 1, PieceRow.kind == "stave")
        ).one()
        return int(count), value or Decimal(0)

    def promised(self, job: str) -> tuple[int, Decimal]:
        """Boards promised to a job's plans and not cut yet: how many, and what they stand for."""
        count, value = self._connection.execute(
            select(func.count(), func.sum(PieceRow.value, type_=Money()))
            .join(PlanRow, PlanRow.id == PieceRow.promised_plan_id)
            .join(JobRow, JobRow.id == PlanRow.job_id)
            .where(JobRow.name == job, PieceRow.on_hand == 1)
        ).one()
        return int(count), value or Decimal(0)
