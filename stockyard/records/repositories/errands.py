"""Errands: asked for, claimed by one worker at a time, noted as they go on, and ended."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Select, and_, delete, func, insert, or_, select, update

from stockyard.errors import NotFound
from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import ErrandFileRow, ErrandRow
from stockyard.timber.errand import Errand, ErrandState, Stop

_COLUMNS = (
    ErrandRow.id,
    ErrandRow.kind,
    ErrandRow.wanted,
    ErrandRow.state,
    ErrandRow.stop,
    ErrandRow.progress,
    ErrandRow.result,
    ErrandRow.complaint,
    ErrandRow.attempts,
    ErrandRow.at,
    ErrandRow.who,
    ErrandRow.begun,
    ErrandRow.ended,
)


class ErrandRepository(Repository):
    """Errands by number."""

    def add(self, kind: str, wanted: Mapping[str, Any], files: Mapping[str, bytes]) -> Errand:
        """Ask for an errand, with the files it needs by name."""
        row = {"kind": kind, "wanted": dict(wanted), "state": ErrandState.WAITING, "stop": Stop.NO.value}
        asked = insert(ErrandRow).values({**row, "attempts": 0, **self._signature}).returning(ErrandRow.id)
        id_ = self._connection.execute(asked).scalar_one()
        for name, content in files.items():
            file = {"errand_id": id_, "name": name, "content": content}
            self._connection.execute(insert(ErrandFileRow), file)
        return self.get(id_)

    def get(self, id_: int) -> Errand:
        """The errand of that number. Raises NotFound."""
        row = self._connection.execute(select(*_COLUMNS).where(ErrandRow.id == id_)).first()
        if row is None:
            raise NotFound("errand", str(id_))
        names = select(ErrandFileRow.name).where(ErrandFileRow.errand_id == id_).order_by(ErrandFileRow.name)
        return _errand(row, self._connection.execute(names).scalars())

    def file(self, id_: int, name: str) -> bytes:
        """What a file given to an errand holds. Raises NotFound."""
        asked = select(ErrandFileRow.content).where(
            ErrandFileRow.errand_id == id_, ErrandFileRow.name == name
        )
        content = self._connection.execute(asked).scalar()
        if content is None:
            raise NotFound("file of an errand", name)
        return content

    def find(
        self, *, kind: str | None = None, states: Iterable[ErrandState] = (), limit: int = 100
    ) -> tuple[Errand, ...]:
        """Errands, the newest first, without the names of their files."""
        asked: Select[*tuple[Any, ...]] = select(*_COLUMNS).order_by(ErrandRow.id.desc()).limit(limit)
        if kind is not None:
            asked = asked.where(ErrandRow.kind == kind)
        if wanted := tuple(states):
            asked = asked.where(ErrandRow.state.in_(wanted))
        return tuple(_errand(row) for row in self._connection.execute(asked))

    def counts(self) -> dict[ErrandState, int]:
        """How many errands stand in each state; states with none are left out."""
        rows = self._connection.execute(select(ErrandRow.state, func.count()).group_by(ErrandRow.state))
        return {ErrandState(state): count for state, count in rows}

    def left_alone(self, since: datetime) -> int:
        """How many have waited, or gone without a word from their worker, since before that moment."""
        waiting = and_(ErrandRow.state == ErrandState.WAITING, ErrandRow.at < since)
        silent = and_(ErrandRow.state == ErrandState.RUNNING, ErrandRow.beat < since)
        asked = select(func.count()).select_from(ErrandRow).where(or_(waiting, silent))
        return self._connection.execute(asked).scalar_one()

    def claim(self, worker: str, kinds: Iterable[str], silent_since: datetime) -> Errand | None:
        """Take the oldest errand that waits, or whose worker has been silent since then; None if none is."""
        free = or_(
            ErrandRow.state == ErrandState.WAITING,
            and_(ErrandRow.state == ErrandState.RUNNING, ErrandRow.beat < silent_since),
        )
        asked = select(ErrandRow.id).where(free, ErrandRow.kind.in_(tuple(kinds))).order_by(ErrandRow.id)
        id_ = self._connection.execute(asked.limit(1).with_for_update(skip_locked=True)).scalar()
        if id_ is None:
            return None
        now = self._work.now
        self._connection.execute(
            update(ErrandRow)
            .where(ErrandRow.id == id_)
            .values(
                state=ErrandState.RUNNING,
                worker=worker,
                beat=now,
                begun=now,
                attempts=ErrandRow.attempts + 1,
            )
        )
        return self.get(id_)

    def note(self, id_: int, worker: str, progress: Mapping[str, Any] | None) -> Stop:
        """Note how far a worker is, and that it is still at it. Returns what has been asked of it meanwhile.

        A worker that has lost its errand to another is told to drop it.
        """
        more = {} if progress is None else {"progress": dict(progress)}
        held = and_(ErrandRow.id == id_, ErrandRow.worker == worker, ErrandRow.state == ErrandState.RUNNING)
        done = self._connection.execute(
            update(ErrandRow).where(held).values(beat=self._work.now, **more).returning(ErrandRow.stop)
        ).scalar()
        return Stop.DROP if done is None else Stop(done)

    def ask_stop(self, id_: int, stop: Stop) -> Errand:
        """Ask an errand to stop; one that nobody has begun is dropped at once. Raises NotFound."""
        standing = self.get(id_)
        if standing.state is ErrandState.WAITING:
            self._end(ErrandRow.id == id_, id_, ErrandState.DROPPED, {})
        elif standing.state is ErrandState.RUNNING:
            self._connection.execute(update(ErrandRow).where(ErrandRow.id == id_).values(stop=stop.value))
        return self.get(id_)

    def end(
        self,
        id_: int,
        worker: str,
        state: ErrandState,
        *,
        result: Mapping[str, Any] | None = None,
        complaint: Mapping[str, Any] | None = None,
    ) -> None:
        """End an errand that this worker still holds, and let its files go."""
        values = {"result": None if result is None else dict(result)}
        values["complaint"] = None if complaint is None else dict(complaint)
        held = and_(ErrandRow.id == id_, ErrandRow.worker == worker, ErrandRow.state == ErrandState.RUNNING)
        self._end(held, id_, state, values)

    def release(self, worker: str) -> None:
        """Put what a worker was at back in the queue: it is ending."""
        held = and_(ErrandRow.worker == worker, ErrandRow.state == ErrandState.RUNNING)
        again = {"state": ErrandState.WAITING, "worker": None, "attempts": ErrandRow.attempts - 1}
        self._connection.execute(update(ErrandRow).where(held).values(again))

    def _end(self, held: Any, id_: int, state: ErrandState, values: dict[str, Any]) -> None:
        ended = update(ErrandRow).where(held).values(state=state, ended=self._work.now, **values)
        if self._connection.execute(ended).rowcount:
            self._connection.execute(delete(ErrandFileRow).where(ErrandFileRow.errand_id == id_))


def _errand(row: Any, files: Iterable[str] = ()) -> Errand:
    fields = [*row[:4], Stop(row[4]), *row[5:], tuple(files)]
    return Errand(*fields)
