"""Jobs by name, every version of their documents kept."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.exc import IntegrityError

from stockyard.errors import NotFound
from stockyard.records.faults import Contended
from stockyard.records.repositories.repository import Repository, near
from stockyard.records.tables import JobRow, JobVersionRow
from stockyard.timber.booked_plan import BookedJob

_COLUMNS = (
    JobRow.name,
    JobVersionRow.version,
    JobVersionRow.document,
    JobVersionRow.at,
    JobVersionRow.who,
)


class JobRepository(Repository):
    """Jobs. A document handed in again becomes its next version; plans keep the one they used."""

    def keep(self, name: str, document: Mapping[str, Any]) -> BookedJob:
        """Add a job, or the next version of one already known; the same document again changes nothing."""
        row = self._connection.execute(
            select(JobRow.id, JobRow.version).where(JobRow.name == name).with_for_update()
        ).first()
        if row is None:
            try:
                id_ = self._connection.execute(
                    insert(JobRow).returning(JobRow.id), {"name": name, "version": 1}
                ).scalar_one()
            except IntegrityError:
                raise Contended(f"Job {name!r} is being added by someone else; look at it first.") from None
            version = 1
        else:
            id_, version = row[0], row[1] + 1
            if self.get(name).document == dict(document):
                return self.get(name)
            self._connection.execute(update(JobRow).where(JobRow.id == id_).values(version=version))
        self._connection.execute(
            insert(JobVersionRow),
            {"job_id": id_, "version": version, "document": dict(document), **self._signature},
        )
        return self.get(name)

    def get(self, name: str) -> BookedJob:
        """The job of that name, in the version that stands. Raises NotFound, with near names."""
        row = self._connection.execute(
            select(*_COLUMNS)
            .join(JobVersionRow, JobVersionRow.job_id == JobRow.id)
            .where(JobRow.name == name, JobVersionRow.version == JobRow.version)
        ).first()
        if row is None:
            names = self._connection.execute(select(JobRow.name)).scalars()
            raise NotFound("job", name, near(name, names))
        return BookedJob(*row)

    def all(self) -> tuple[BookedJob, ...]:
        """Every job in the version that stands, by name."""
        rows = self._connection.execute(
            select(*_COLUMNS)
            .join(JobVersionRow, JobVersionRow.job_id == JobRow.id)
            .where(JobVersionRow.version == JobRow.version)
            .order_by(JobRow.name)
        )
        return tuple(BookedJob(*row) for row in rows)

    def versions(self) -> dict[str, int]:
        """The version of every job that stands, by name."""
        rows = self._connection.execute(select(JobRow.name, JobRow.version).order_by(JobRow.name))
        return dict(rows.all())

    def history(self, name: str) -> tuple[BookedJob, ...]:
        """Every version of a job, the oldest first. Raises NotFound."""
        rows = self._connection.execute(
            select(*_COLUMNS)
            .join(JobVersionRow, JobVersionRow.job_id == JobRow.id)
            .where(JobRow.name == self.get(name).name)
            .order_by(JobVersionRow.version)
        )
        return tuple(BookedJob(*row) for row in rows)

    def row_ids(self, names: Iterable[str]) -> dict[str, int]:
        """Row ids by name; for the other repositories. Raises NotFound for the first that is not there."""
        wanted = sorted(set(names))
        if not wanted:
            return {}
        rows = self._connection.execute(select(JobRow.name, JobRow.id).where(JobRow.name.in_(wanted)))
        found = dict(rows.all())
        for name in wanted:
            if name not in found:
                self.get(name)
        return found
