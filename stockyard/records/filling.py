"""An empty yard filled with rows and pictures from elsewhere, in one transaction, proved before kept."""

import shutil
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, func, select, text

from stockyard.errors import BadInput, Broken
from stockyard.records.archived_tables import Archived, TableTally, put_rows, text_of
from stockyard.records.connect import READING, connect, make_folder, pictures_of, yard_url
from stockyard.records.faults import place_of
from stockyard.records.migrate import HEAD, LOCK, Standing, run_in, standing
from stockyard.records.picture_files import Adding, PictureFiles
from stockyard.records.tables import Base


@dataclass(frozen=True, slots=True)
class Filling:
    """An empty yard while it is filled. adding: where its pictures go, None where there are none."""

    url: URL
    connection: Connection
    adding: Adding | None

    def put(self, each: Archived, lines: Iterable[str]) -> None:
        """Insert a table's rows from its text. Raises ValueError where that is not what was described."""
        put_rows(self.connection, each, lines)
        if self.connection.dialect.name == "postgresql" and each.key == ("id",):
            self._continue_numbers(each.name)

    def prove(self, each: Archived, told: Mapping[str, Any], source: object) -> None:
        """Write a table out again: it must be what came. told: a tally as JSON. Raises Broken."""
        tally = TableTally()
        for _ in text_of(self.connection, each, tally):
            pass
        now = tally.as_json()
        if now != {name: told[name] for name in now}:
            raise Broken(f"Table {each.name} did not come out of {source} as it went in; nothing was kept.")

    def _continue_numbers(self, name: str) -> None:
        """Let PostgreSQL number new rows after those that came with numbers of their own."""
        series = self.connection.execute(
            text("SELECT pg_get_serial_sequence(:name, 'id')"), {"name": f'"{name}"'}
        ).scalar()
        if series is not None:
            self.connection.execute(
                text(f'SELECT setval(:series, (SELECT coalesce(max(id), 0) + 1 FROM "{name}"), false)'),
                {"series": series},
            )


@contextmanager
def filling(
    place: str | Path | None, pictures: str | Path | None, *, revision: str, pictured: bool
) -> Iterator[Filling]:
    """An empty yard, or one that is not there yet, to be filled in the `with`; left as it was if that fails.

    revision: what the rows to come are of. pictured: are there pictures to come? Nobody else gets in between.
    Raises BadInput when the yard holds something already or nobody said where its pictures go, StoreUnusable
    when it cannot be used.
    """
    url = yard_url(place)
    folder = pictures_of(url, pictures)
    if pictured and folder is None:
        raise BadInput("There are pictures to be kept; say where they go with STOCKYARD_PICTURES.")
    fresh = [Path(f"{url.database}{end}") for end in ("", "-wal", "-shm")]
    if url.get_backend_name() != "sqlite" or fresh[0].exists():
        fresh = []
    new_folder = folder if folder is not None and not folder.exists() else None
    make_folder(url)
    engine = connect(url, foreign_keys=False)
    try:
        with ExitStack() as stack:
            _refuse_filled(engine)
            files = PictureFiles(folder) if pictured and folder is not None else None
            # Around the transaction: should it not be committed, the mark tells the next one to sweep.
            adding = None if files is None else stack.enter_context(files.adding())
            with engine.begin() as connection:
                _shut_out_others(connection)
                if standing(engine) is Standing.EMPTY:
                    run_in(connection, revision)
                yield Filling(url, connection, adding)
                _prove_references(connection)
                if revision != HEAD:
                    run_in(connection, "head")
    except BaseException:
        engine.dispose()
        for each in fresh:
            each.unlink(missing_ok=True)
        if new_folder is not None:
            shutil.rmtree(new_folder, ignore_errors=True)
        raise
    engine.dispose()


def _refuse_filled(engine: Engine) -> None:
    at = standing(engine)
    if at is Standing.EMPTY:
        return
    if at is not Standing.CURRENT:
        raise at.refusal(engine.url)
    with engine.execution_options(**{READING: True}).connect() as connection:
        _refuse_rows(connection)


def _refuse_rows(connection: Connection) -> None:
    for each in Base.metadata.sorted_tables:
        if connection.execute(select(func.count()).select_from(each)).scalar():
            where = place_of(connection.engine.url)
            raise BadInput(f"{where} holds something already; only an empty yard is filled.")


def _shut_out_others(connection: Connection) -> None:
    """SQLite's one writer is alone from the start; on PostgreSQL, whoever else fills or uses it must wait."""
    if connection.dialect.name != "postgresql":
        return
    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": LOCK})
    if standing(connection.engine) is Standing.CURRENT:
        names = ", ".join(f'"{each.name}"' for each in Base.metadata.sorted_tables)
        connection.execute(text(f"LOCK TABLE {names} IN EXCLUSIVE MODE"))
        _refuse_rows(connection)


def _prove_references(connection: Connection) -> None:
    # PostgreSQL has checked each row as it came.
    if connection.dialect.name == "sqlite" and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
        raise BadInput("Some of the rows refer to nothing, so nothing was kept.")
