"""Bringing a database to the shape this version of Stockyard expects, through the migrations shipped with it.

Alembic is imported only when a database has to be made or changed: most commands never need it.
"""

import contextlib
import sqlite3
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import URL, Connection, Engine, inspect, text

import stockyard
from stockyard.errors import Broken, StoreUnusable
from stockyard.records.connect import connect, make_folder, yard_url
from stockyard.records.faults import place_of, sqlite_fault

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0006"
"""The newest migration; a test holds it to the migrations folder."""

LOCK = 7_302_811  # any number, the same for all who migrate a PostgreSQL database


class Standing(Enum):
    """How a database stands to this version of Stockyard."""

    EMPTY = "empty"
    CURRENT = "current"
    OLDER = "older"
    NEWER = "newer"
    FOREIGN = "foreign"

    def refusal(self, url: URL) -> StoreUnusable:
        """Why a database that stands so cannot be used as it is."""
        where = place_of(url)
        if self is Standing.OLDER:
            return StoreUnusable(f"{where} was made by an older Stockyard; run `stockyard upgrade` once.")
        if self is Standing.NEWER:
            return StoreUnusable(
                f"{where} was made by a newer Stockyard than this one; install that version or a later one."
            )
        return StoreUnusable(f"{where} holds something that is not a yard; name another with --db.")


def standing(engine: Engine) -> Standing:
    """How the engine's database stands. Looks only."""
    with engine.execution_options(stockyard_reading=True).connect() as connection:
        tables = set(inspect(connection).get_table_names())
        if not tables:
            return Standing.EMPTY
        if "alembic_version" not in tables:
            return Standing.FOREIGN
        revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if revision == HEAD:
        return Standing.CURRENT
    if revision is None:
        return Standing.EMPTY if tables == {"alembic_version"} else Standing.FOREIGN
    return Standing.OLDER if revision in revisions() else Standing.NEWER


def needs_upgrade(place: str | Path | None = None) -> bool:
    """Was the database made by an older Stockyard? Raises StoreUnusable when it is newer or no yard."""
    url = yard_url(place)
    at = _standing_of(url)
    if at in (Standing.NEWER, Standing.FOREIGN):
        raise at.refusal(url)
    return at is Standing.OLDER


def upgrade(place: str | Path | None = None, now: datetime | None = None) -> Path | None:
    """Bring a database up to date, making it when nothing is there. Safe to repeat, and for several at once.

    An older SQLite file is first copied aside, beside itself, under a dated name.
    Returns that copy's path, or None when none was needed.
    Raises StoreUnusable when the database is newer than this programme or no yard at all.
    """
    url = yard_url(place)
    at = _standing_of(url)
    if at is Standing.CURRENT:
        return None
    if at in (Standing.NEWER, Standing.FOREIGN):
        raise at.refusal(url)
    aside = None
    if at is Standing.OLDER and url.get_backend_name() == "sqlite":
        aside = copy_aside(Path(url.database or ""), now or datetime.now().astimezone())
    create(url)
    return aside


def create(url: URL) -> None:
    """Run every migration that a database still lacks, all or none."""
    make_folder(url)
    run_to(url, "head")


def run_to(url: URL, revision: str) -> None:
    """Run the migrations up or down to `revision` ("head", "base", or an identifier), all or none."""
    # Rebuilding an SQLite table with foreign keys on would empty what refers to it.
    engine = connect(url, foreign_keys=False)
    try:
        with engine.begin() as connection:
            if connection.dialect.name == "postgresql":
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": LOCK})
            run_in(connection, revision)
            _prove_references(connection)
    finally:
        engine.dispose()


def run_in(connection: Connection, revision: str) -> None:
    """Run the migrations up or down within a transaction that somebody else commits, foreign keys off."""
    from alembic import command

    config = alembic_config(connection)
    if revision == "base" or revision in _older_than(_revision(connection)):
        command.downgrade(config, revision)
    else:
        command.upgrade(config, revision)


def copy_aside(path: Path, now: datetime) -> Path:
    """A faithful copy of an SQLite file beside it, taken while others may be using it. Returns its path."""
    aside = path.with_name(f"{path.stem}.before-upgrade-{now:%Y%m%d-%H%M%S}{path.suffix}")
    beside = aside.with_name(f".{aside.name}.part")  # whole under its name, or not there
    try:
        beside.unlink(missing_ok=True)
        source, target = sqlite3.connect(path), sqlite3.connect(beside)
        try:
            source.backup(target)
        finally:
            source.close()
            target.close()
        beside.replace(aside)
    except sqlite3.Error as error:
        raise sqlite_fault(error, str(aside)) or error from None
    except OSError as error:
        raise StoreUnusable(f"The older yard cannot be kept as {aside}: {error.strerror or error}.") from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
    return aside


def alembic_config(connection: Connection | None = None) -> "Config":
    """Alembic's configuration, without any file, for the migrations and an open connection."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def migrations_folder() -> Path:
    """Where the migrations are: inside an installed package, or beside it in a checkout."""
    package = Path(stockyard.__file__).parent
    for folder in (package / "migrations", package.parent / "migrations"):
        if (folder / "env.py").is_file():
            return folder
    raise Broken("The migrations are missing from this installation of Stockyard; install it again.")


def revisions() -> list[str]:
    """Every migration's identifier, the oldest first."""
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory.from_config(alembic_config())
    return [script.revision for script in scripts.walk_revisions()][::-1]


def standing_at(place: str | Path | None = None) -> tuple[Standing, str]:
    """How what is at a path or URL stands, making nothing there, and how a message names it."""
    url = yard_url(place)
    return _standing_of(url), place_of(url)


def _standing_of(url: URL) -> Standing:
    path = Path(url.database or "") if url.get_backend_name() == "sqlite" else None
    if path is not None and not path.exists():
        return Standing.EMPTY  # asking an engine would make the file
    engine = connect(url)
    try:
        return standing(engine)
    finally:
        engine.dispose()


def _revision(connection: Connection) -> str | None:
    if "alembic_version" not in inspect(connection).get_table_names():
        return None
    found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return found


def _older_than(revision: str | None) -> list[str]:
    known = revisions()
    return known[: known.index(revision)] if revision in known else []


def _prove_references(connection: Connection) -> None:
    if connection.dialect.name == "sqlite" and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
        raise Broken("A migration would have left records that refer to nothing, so nothing was changed.")
