import shutil
import sqlite3
from datetime import date
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Engine, create_engine, inspect, text
from sqlalchemy.exc import DBAPIError

from stockyard.errors import StockyardError, StoreUnusable
from stockyard.ledger import disagreements
from stockyard.records import migrate, open_yard
from stockyard.records.connect import connect, yard_url
from stockyard.records.migrate import HEAD, needs_upgrade, run_to, upgrade
from stockyard.records.tables import HISTORY, Base
from tests.conftest import NOON, at_noon
from tests.stocking import a_plan, keep_plan, receive


@pytest.fixture
def engine(yard_place: str) -> Engine:
    return connect(yard_url(yard_place))


def tables_of(place: str) -> set[str]:
    engine = connect(yard_url(place))
    try:
        return set(inspect(engine).get_table_names())
    finally:
        engine.dispose()


def test_the_migrations_end_where_the_programme_expects() -> None:
    assert migrate.revisions()[-1] == HEAD


def test_models_and_migrations_agree(engine: Engine) -> None:
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        differences = compare_metadata(context, Base.metadata)
    engine.dispose()

    assert differences == []


def test_checks_of_models_and_migrations_agree(sqlite_path: Path) -> None:
    """Comparing metadata does not look at CHECK constraints, so they are compared by name and words."""
    made, migrated = create_engine("sqlite://"), connect(yard_url(sqlite_path))
    Base.metadata.create_all(made)

    for table in Base.metadata.tables:
        checks = [
            sorted((check["name"], check["sqltext"]) for check in inspect(each).get_check_constraints(table))
            for each in (made, migrated)
        ]
        assert checks[0] == checks[1]
    made.dispose()
    migrated.dispose()


def test_every_migration_goes_up_and_down_and_up_again(empty_place: str) -> None:
    upgrade(empty_place)
    whole = tables_of(empty_place)
    steps = ["base", *migrate.revisions()]
    for target in steps[-2::-1]:
        run_to(yard_url(empty_place), target)
    assert tables_of(empty_place) <= {"alembic_version"}
    for target in steps[1:]:
        run_to(yard_url(empty_place), target)

    assert tables_of(empty_place) == whole >= set(Base.metadata.tables)


def test_rows_survive_every_migration(yard_place: str) -> None:
    """A yard with rows goes down one migration at a time as far as it holds its tables, and up again."""
    with open_yard(yard_place, clock=at_noon) as yard, yard.open_work() as work:
        keep_plan(work, a_plan(receive(work, 3)))
        work.commit()
    oldest = migrate.revisions()[0]
    run_to(yard_url(yard_place), oldest)

    upgrade(yard_place)

    with open_yard(yard_place) as yard, yard.open_work(reading=True) as work:
        assert len(work.pieces.find()) == 3
        assert work.plans.get(1).seen == {f"SG-000{n}": 1 for n in (1, 2, 3)}
        assert disagreements(work.movements.all(), work.stock.shown()) == []


def test_an_empty_place_becomes_a_yard_on_first_use(empty_place: str) -> None:
    with open_yard(empty_place) as yard, yard.open_work(reading=True) as work:
        assert work.pieces.find() == []

    assert not needs_upgrade(empty_place)
    assert upgrade(empty_place) is None


@pytest.mark.parametrize("table", HISTORY)
def test_the_database_itself_refuses_to_change_history(yard_place: str, table: str) -> None:
    """Proved on a row of each table, written here without the programme."""
    engine = connect(yard_url(yard_place), foreign_keys=False)
    columns = inspect(engine).get_columns(table)
    row = {str(column["name"]): _something(str(column["type"])) for column in columns}
    row |= {"account": "suppliers", "piece_id": None, "supply_id": None} if table == "movement_line" else {}
    row |= {
        word: first
        for word, first in {
            "kind": "crack" if table in ("defect_version", "suggestion") else "receive",
            "verdict": "accepted",
            "measure": "net",
            "face": "A",
            "state": "open",
            "origin": "hand",
        }.items()
        if word in row
    }
    names = ", ".join(f'"{name}"' for name in row)
    values = ", ".join(f":{name}" for name in row)
    with engine.begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SET LOCAL session_replication_role = replica"))  # no foreign keys
        connection.execute(text(f"INSERT INTO {table} ({names}) VALUES ({values})"), row)

    statements = [f'UPDATE {table} SET "{next(iter(row))}" = 2', f"DELETE FROM {table}"]
    if engine.dialect.name == "postgresql":
        statements.append(f"TRUNCATE {table} CASCADE")
    for statement in statements:
        with pytest.raises(DBAPIError, match="history only grows"), engine.begin() as connection:
            connection.execute(text(statement))
    with engine.connect() as connection:
        assert connection.execute(text(f"SELECT count(*) FROM {table}")).scalar() == 1
    engine.dispose()


def _something(kind: str) -> object:
    if kind.startswith(("DATETIME", "TIMESTAMP")):
        return NOON.isoformat(sep=" ")
    if kind == "DATE":
        return date(2026, 3, 2).isoformat()
    if kind == "BOOLEAN":
        return False
    if kind == "JSON":
        return "{}"
    return "words" if kind.startswith(("TEXT", "VARCHAR")) else 1


def test_an_older_file_is_copied_aside_before_it_is_upgraded(
    sqlite_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard, yard.open_work() as work:
        receive(work, 2)
        work.commit()
    _pretend_older(sqlite_path, monkeypatch)
    assert needs_upgrade(sqlite_path)
    with pytest.raises(StoreUnusable, match="run `stockyard upgrade`"):
        open_yard(sqlite_path)

    aside = upgrade(sqlite_path, now=NOON)

    assert aside == sqlite_path.with_name("yard.before-upgrade-20260302-120000.db")
    with sqlite3.connect(aside) as copy:
        assert copy.execute("SELECT count(*) FROM piece").fetchone() == (2,)
        assert copy.execute("SELECT version_num FROM alembic_version").fetchone() == (HEAD,)
    copy.close()
    with open_yard(sqlite_path) as yard, yard.open_work(reading=True) as work:
        assert len(work.pieces.find()) == 2


def _pretend_older(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let this programme expect one more migration, which adds a table, than the file has had."""
    folder = path.parent / "migrations"
    shutil.copytree(migrate.migrations_folder(), folder)
    (folder / "versions" / "9999_later.py").write_text(
        "import sqlalchemy as sa\n"
        "from alembic import op\n"
        f"revision, down_revision = 'later', {HEAD!r}\n"
        "def upgrade():\n    op.create_table('shelf', sa.Column('id', sa.Integer(), primary_key=True))\n"
        "def downgrade():\n    op.drop_table('shelf')\n"
    )
    monkeypatch.setattr(migrate, "migrations_folder", lambda: folder)
    monkeypatch.setattr(migrate, "HEAD", "later")


def test_a_migration_that_fails_leaves_the_older_yard_whole(
    sqlite_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _pretend_older(sqlite_path, monkeypatch)
    later = sqlite_path.parent / "migrations" / "versions" / "9999_later.py"
    failing = "    raise OSError('pulled plug')\ndef downgrade"
    later.write_text(later.read_text().replace("def downgrade", failing))

    with pytest.raises(OSError, match="pulled plug"):
        upgrade(sqlite_path, now=NOON)

    assert "shelf" not in tables_of(str(sqlite_path))
    assert needs_upgrade(sqlite_path)


def test_a_database_newer_than_the_programme_is_refused(yard_place: str) -> None:
    engine = connect(yard_url(yard_place))
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'from_the_future'"))
    engine.dispose()

    for use in (open_yard, upgrade, needs_upgrade):
        with pytest.raises(StoreUnusable, match="made by a newer Stockyard"):
            use(yard_place)


def test_a_database_that_is_no_yard_is_refused_and_left_alone(empty_place: str) -> None:
    Path(empty_place).parent.mkdir(exist_ok=True) if "://" not in empty_place else None
    engine = connect(yard_url(empty_place))
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE recipe (name TEXT)"))
    engine.dispose()

    for use in (open_yard, upgrade):
        with pytest.raises(StockyardError, match="not a yard"):
            use(empty_place)
    assert tables_of(empty_place) == {"recipe"}
