"""Opening a yard: which database, how it is spoken to, and a unit of work on it."""

import getpass
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from platformdirs import user_data_path
from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import ConnectionPoolEntry

from stockyard.errors import BadInput, MissingPart, StoreUnusable
from stockyard.records.faults import translate_faults
from stockyard.records.picture_files import folder_beside
from stockyard.records.unit_of_work import UnitOfWork

BUSY_SECONDS = 20.0
"""How long to wait for another program to finish writing before giving up."""

READING = "stockyard_reading"


class OpenWork(Protocol):
    """What a service is given: opens a unit of work, to be used in a `with`."""

    def __call__(self, *, who: str = ..., now: datetime | None = ..., reading: bool = ...) -> UnitOfWork:
        """A unit of work by `who`, at `now` where the time must be known, `reading` to only look."""
        ...


class Yard:
    """A yard that is open: its engine, and units of work on it. Close it, or use it in a `with`."""

    def __init__(self, engine: Engine, clock: Callable[[], datetime], pictures: Path | None = None) -> None:
        self.engine, self._clock, self._pictures = engine, clock, pictures
        # A reader of PostgreSQL sees one moment throughout; SQLite's readers always do.
        snapshot = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        self._reader = engine.execution_options(
            **{READING: True}, **(snapshot if engine.dialect.name == "postgresql" else {})
        )

    def open_work(self, *, who: str = "", now: datetime | None = None, reading: bool = False) -> UnitOfWork:
        """A unit of work, for use in a `with`; it forgets everything unless told to commit.

        who: written beside everything it changes. now: an aware time, from the clock when not given; its own
        time zone's date is the workshop's today. reading: only look, without waiting for whoever writes.
        """
        moment = now if now is not None else self._clock()
        return UnitOfWork(
            self._reader if reading else self.engine, who or _login(), moment, pictures=self._pictures
        )

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()

    def __enter__(self) -> "Yard":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def default_path() -> Path:
    """Where the yard is kept when nobody says otherwise: in the user's own data folder."""
    return user_data_path("stockyard", appauthor=False) / "yard.db"


def yard_url(place: str | Path | None = None) -> URL:
    """The database meant by a path or a URL; the default path when nothing is given.

    Raises BadInput for a URL of a kind that Stockyard does not speak to.
    """
    text = str(place or default_path())
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser().absolute()))
    try:
        url = make_url(text)
    except ArgumentError:
        raise BadInput(f"{text!r} is neither a file nor a database URL (postgresql://...).") from None
    if url.drivername in ("postgres", "postgresql"):
        url = url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() not in ("sqlite", "postgresql"):
        raise BadInput(f"Stockyard keeps its records in SQLite or PostgreSQL, not in {url.drivername!r}.")
    return url


def connect(url: URL, busy_seconds: float = BUSY_SECONDS, foreign_keys: bool = True) -> Engine:
    """An engine that keeps foreign keys, waits its turn, makes commits durable, and explains refusals."""
    sqlite = url.get_backend_name() == "sqlite"
    arguments: dict[str, Any] = {"timeout": busy_seconds} if sqlite else {"connect_timeout": 10}
    # A file takes as many as come, they wait for their turn at its lock; a server has only so many places,
    # and may have been started anew since a connection was last used.
    pool: dict[str, Any] = (
        {"max_overflow": -1} if sqlite else {"pool_size": 10, "max_overflow": 20, "pool_pre_ping": True}
    )
    try:
        # What statements carry may be a password's hash or a client's name: errors and logs do without.
        engine = create_engine(url, connect_args=arguments, hide_parameters=True, **pool)
    except NoSuchModuleError:
        raise BadInput(f"Stockyard does not know the database driver {url.drivername!r}.") from None
    except ModuleNotFoundError:
        raise MissingPart("PostgreSQL needs psycopg: pip install 'stockyard[postgres]'.") from None
    translate_faults(engine)
    if not sqlite:
        return engine

    @event.listens_for(engine, "connect")
    def set_up(connection: sqlite3.Connection, _: ConnectionPoolEntry) -> None:
        # The driver's own idea of transactions begins them too late for reads and not at all for DDL.
        connection.isolation_level = None
        connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
        connection.execute("PRAGMA journal_mode = WAL")
        # WAL's default would lose the last commits, though nothing else, when the power fails.
        connection.execute("PRAGMA synchronous = FULL")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        reading = connection.get_execution_options().get(READING, False)
        # Taking the write lock at once means that a unit of work never has to be refused half-way.
        connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")

    return engine


def open_yard(
    place: str | Path | None = None,
    *,
    busy_seconds: float = BUSY_SECONDS,
    clock: Callable[[], datetime] = lambda: datetime.now().astimezone(),
    pictures: str | Path | None = None,
) -> Yard:
    """Open the yard kept at a path or URL, making it when nothing is there yet.

    pictures: the folder that pictures of yards on a server lie in; those of an SQLite file lie beside it.
    Raises StoreUnusable when it cannot be opened, is older than this programme (upgrade it first) or newer.
    """
    from stockyard.records.migrate import Standing, create, standing

    url = yard_url(place)
    make_folder(url)
    engine = connect(url, busy_seconds)
    try:
        at = standing(engine)
        if at is Standing.EMPTY:
            create(url)
        elif at is not Standing.CURRENT:
            raise at.refusal(url)
    except BaseException:
        engine.dispose()
        raise
    return Yard(engine, clock, pictures_of(url, pictures))


def pictures_of(url: URL, folder: str | Path | None = None) -> Path | None:
    """Where a yard's pictures lie: beside an SQLite file, or in a folder of their own within the given one.

    No two yards share one, or one would sweep the other's pictures. None where nobody said a folder.
    """
    if url.get_backend_name() == "sqlite":
        return folder_beside(Path(url.database)) if url.database and url.database != ":memory:" else None
    return Path(folder).expanduser().absolute() / (url.database or "yard") if folder else None


def make_folder(url: URL) -> None:
    """Make the folder an SQLite file is to lie in. Raises StoreUnusable when it cannot be made."""
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        return
    path = Path(url.database)
    if path.is_dir():
        raise StoreUnusable(f"{path} is a folder; name a database file in it with --db.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreUnusable(
            f"The folder {path.parent} cannot be made ({error.strerror}); name another place with --db."
        ) from None


def _login() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # a user id without a name, as in some containers
        return "someone"
