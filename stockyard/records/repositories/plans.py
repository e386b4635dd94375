"""Plans: what was decided, from what, and how far it has come."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Select, insert, select, update

from stockyard.errors import Broken, NotFound
from stockyard.records.repositories.counts import next_numbers
from stockyard.records.repositories.repository import Repository, chunks
from stockyard.records.tables import JobRow, PieceRow, PlanBoardRow, PlanRow
from stockyard.timber.booked_plan import BookedPlan, PlanHead, PlanStatus


class PlanRepository(Repository):
    """Plans by number, counted from 1."""

    def add(
        self, job: str, document: Mapping[str, Any], stock: Mapping[str, Any], seen: Mapping[str, int]
    ) -> BookedPlan:
        """Keep a plan as proposed and return it.

        job: a job's name; its present version is noted. document: stockyard.plan/1. stock: the
        stockyard.stock/1 it was made from. seen: every board it cuts, at the version the stock showed
        (`pieces.versions` in the unit of work that read the stock). Raises NotFound.
        """
        boards = self._work.pieces.row_ids(seen)
        id_ = self._connection.execute(
            insert(PlanRow).returning(PlanRow.id),
            {
                "number": next_numbers(self._connection, "plan"),
                "job_id": self._work.jobs.row_ids({job})[job],
                "job_version": self._work.jobs.get(job).version,
                "status": PlanStatus.PROPOSED,
                "document": dict(document),
                "stock": dict(stock),
                **self._signature,
            },
        ).scalar_one()
        rows = [
            {"plan_id": id_, "piece_id": boards[number], "seen_version": version}
            for number, version in seen.items()
        ]
        if rows:
            self._connection.execute(insert(PlanBoardRow), rows)
        return self._plans(_plans().where(PlanRow.id == id_))[0]

    def get(self, number: int, *, hold: bool = False) -> BookedPlan:
        """The plan of that number; with `hold`, nobody else can hold it until this unit of work ends.

        Raises NotFound.
        """
        asked = _plans().where(PlanRow.number == number)
        found = self._plans(asked.with_for_update(of=PlanRow) if hold else asked)
        if not found:
            numbers = self._connection.execute(
                select(PlanRow.number).order_by(PlanRow.number.desc()).limit(3)
            ).scalars()
            raise NotFound("plan", str(number), sorted(map(str, numbers)))
        return found[0]

    def find(self, job: str | None = None, status: PlanStatus | None = None) -> list[BookedPlan]:
        """Plans by number, of one job or status if so asked."""
        asked = _plans()
        if job is not None:
            asked = asked.where(JobRow.name == job)
        if status is not None:
            asked = asked.where(PlanRow.status == status)
        return self._plans(asked.order_by(PlanRow.number))

    def heads(self, *status: PlanStatus) -> list[PlanHead]:
        """Plans of these statuses by number, without their documents, which may be large."""
        asked = (
            select(
                PlanRow.id,
                PlanRow.number,
                JobRow.name,
                PlanRow.job_version,
                PlanRow.status,
                PlanRow.at,
                PlanRow.who,
            )
            .join(JobRow, JobRow.id == PlanRow.job_id)
            .where(PlanRow.status.in_(status))
            .order_by(PlanRow.number)
        )
        rows = self._connection.execute(asked).all()
        seen = self._seen([row[0] for row in rows])
        return [
            PlanHead(number, job, version, state, seen[id_], at, who)
            for id_, number, job, version, state, at, who in rows
        ]

    def set_status(self, number: int, was: PlanStatus, status: PlanStatus) -> None:
        """Take a held plan on. Raises Broken when it does not stand where it was seen to."""
        changed = self._connection.execute(
            update(PlanRow).where(PlanRow.number == number, PlanRow.status == was).values(status=status)
        )
        if changed.rowcount != 1:
            raise Broken(f"Plan {number} is not {was} any more.")

    def row_ids(self, numbers: Iterable[int]) -> dict[int, int]:
        """Row ids by number; for the other repositories. Raises NotFound for the first that is not there."""
        wanted = sorted(set(numbers))
        if not wanted:
            return {}
        rows = self._connection.execute(select(PlanRow.number, PlanRow.id).where(PlanRow.number.in_(wanted)))
        found = dict(rows.all())
        for number in wanted:
            if number not in found:
                raise NotFound("plan", str(number))
        return found

    def _plans(self, asked: Select[*tuple[Any, ...]]) -> list[BookedPlan]:
        rows = self._connection.execute(asked).all()
        seen = self._seen([row[0] for row in rows])
        return [
            BookedPlan(number, job, job_version, status, document, stock, seen[id_], at, who)
            for id_, number, job, job_version, status, document, stock, at, who in rows
        ]

    def _seen(self, plan_ids: Iterable[int]) -> dict[int, dict[str, int]]:
        """The boards of plans, by row id, each at the version its plan saw."""
        seen: dict[int, dict[str, int]] = {id_: {} for id_ in plan_ids}
        for some in chunks(seen):
            boards = self._connection.execute(
                select(PlanBoardRow.plan_id, PieceRow.number, PlanBoardRow.seen_version)
                .join(PieceRow, PieceRow.id == PlanBoardRow.piece_id)
                .where(PlanBoardRow.plan_id.in_(some))
                .order_by(PieceRow.number)
            )
            for plan_id, number, version in boards:
                seen[plan_id][number] = version
        return seen


def _plans() -> Select[*tuple[Any, ...]]:
    return select(
        PlanRow.id,
        PlanRow.number,
        JobRow.name,
        PlanRow.job_version,
        PlanRow.status,
        PlanRow.document,
        PlanRow.stock,
        PlanRow.at,
        PlanRow.who,
    ).join(JobRow, JobRow.id == PlanRow.job_id)
