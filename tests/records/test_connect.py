"""What a person reads when the database, or the disk it lies on, will not serve."""

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard.errors import BadInput, StoreUnusable
from stockyard.records import Contended, Yard, open_yard, yard_url
from stockyard.records.connect import default_path
from tests.conftest import NOON, at_noon
from tests.stocking import receive

AS_NOBODY = """
import os, sys
from stockyard.errors import StoreUnusable
from stockyard.records import open_yard

def write(path):
    with open_yard(path) as yard, yard.open_work() as work:
        work.workshop.set("note", "written")
        work.commit()

write(sys.argv[2])  # loads all that is needed while the programme may still be read
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    write(sys.argv[1])
except StoreUnusable as error:
    print(error)
"""


def said_as_nobody(path: Path, spare: Path) -> str:
    """What is said when the yard is used by someone without rights (root would be let through)."""
    found = subprocess.run(
        [sys.executable, "-c", AS_NOBODY, str(path), str(spare)], capture_output=True, text=True, check=False
    )
    assert found.stderr == ""
    return found.stdout.strip()


@pytest.fixture
def shared_path(sqlite_template: Path) -> Iterator[Path]:
    """A yard where anyone can reach it, whatever rights the test then takes away."""
    folder = Path(tempfile.mkdtemp(prefix="yard-"))
    folder.chmod(0o755)
    path = folder / "yard.db"
    shutil.copyfile(sqlite_template, path)
    yield path
    shutil.rmtree(folder)


def test_a_path_is_an_sqlite_file_and_a_url_is_what_it_says(tmp_path: Path) -> None:
    assert yard_url(tmp_path / "a yard.db").database == str(tmp_path / "a yard.db")
    assert yard_url("~/yard.db").database == str(Path.home() / "yard.db")
    assert yard_url("postgresql://me@host/yard").drivername == "postgresql+psycopg"
    assert yard_url("postgres://me@host/yard").drivername == "postgresql+psycopg"


def test_nothing_said_means_the_users_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    assert default_path().name == "yard.db"
    assert yard_url().database == str(default_path())


@pytest.mark.parametrize("place", ["mysql://host/yard", "nonsense://", "http://host/yard"])
def test_another_kind_of_database_is_refused(place: str) -> None:
    with pytest.raises(BadInput):
        open_yard(place)


def test_a_unit_of_work_keeps_foreign_keys_wal_and_full_durability(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        pragmas = [
            work.connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("foreign_keys", "journal_mode", "synchronous")
        ]

    assert pragmas == [1, "wal", 2]


def test_a_folder_is_not_a_database(tmp_path: Path) -> None:
    with pytest.raises(StoreUnusable, match="is a folder"):
        open_yard(tmp_path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(StoreUnusable, match="cannot be made"):
        open_yard(tmp_path / "file" / "yard.db")


def test_a_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    path = tmp_path / "tally.csv"
    path.write_text("Length,Width\n" * 200)

    with pytest.raises(StoreUnusable, match="is not a Stockyard database"):
        open_yard(path)
    assert path.read_text().startswith("Length")


def test_a_damaged_page_is_said_so(sqlite_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard, yard.open_work() as work:
        receive(work, 50)
        work.commit()
    sqlite3.connect(sqlite_path).execute("PRAGMA wal_checkpoint(TRUNCATE)").connection.close()
    with sqlite_path.open("r+b") as file:
        file.seek(4096 * 2)
        file.write(b"\xff" * (sqlite_path.stat().st_size - 4096 * 3))

    with (
        pytest.raises(StoreUnusable, match="is damaged; put back your last copy"),
        open_yard(sqlite_path) as yard,
        yard.open_work(reading=True) as work,
    ):
        work.pieces.find()


@pytest.mark.parametrize("read_only", ["file", "folder"])
def test_a_read_only_disk_is_said_so(shared_path: Path, sqlite_path: Path, read_only: str) -> None:
    shared_path.chmod(0o444 if read_only == "file" else 0o666)
    shared_path.parent.chmod(0o777 if read_only == "file" else 0o555)

    said = said_as_nobody(shared_path, sqlite_path)

    assert str(shared_path) in said
    assert "cannot be written" in said or "cannot be opened" in said


def test_a_file_one_may_not_read_is_said_so(shared_path: Path, sqlite_path: Path) -> None:
    shared_path.chmod(0o600)

    assert "cannot be opened" in said_as_nobody(shared_path, sqlite_path)


def test_a_full_disk_is_said_so_and_nothing_is_half_written(sqlite_path: Path) -> None:
    with open_yard(sqlite_path, clock=at_noon) as yard:
        with yard.open_work() as work:
            # SQLite's own limit on pages raises just what a full disk raises.
            pages = work.connection.exec_driver_sql("PRAGMA page_count").scalar()
            work.connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
            with pytest.raises(StoreUnusable, match=r"disk that holds .* is full; make room"):
                receive(work, 5000)
        with yard.open_work(reading=True) as work:
            assert work.pieces.count() == 0


def test_a_yard_that_another_programme_holds_is_waited_for_and_then_said_so(sqlite_path: Path) -> None:
    other = sqlite3.connect(sqlite_path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with open_yard(sqlite_path, busy_seconds=0.05, clock=at_noon) as yard:
        with pytest.raises(Contended, match="in use by another program"), yard.open_work():
            pass
        with yard.open_work(reading=True) as work:  # looking needs no turn
            assert work.pieces.count() == 0
    other.execute("ROLLBACK")
    other.close()


def test_a_server_that_is_not_there_is_said_so_without_the_password(tmp_path: Path) -> None:
    with pytest.raises(StoreUnusable, match="does not answer") as caught:
        open_yard(f"postgresql://me:secret@/yard?host={tmp_path}")

    assert "secret" not in str(caught.value)


def test_a_database_that_the_server_does_not_have_is_said_so(postgres_server: str) -> None:
    with pytest.raises(StoreUnusable, match=r"does not exist|does not answer"):
        open_yard(postgres_server.replace("/postgres?", "/no_such_yard?"))


def test_a_reader_sees_one_moment_throughout(yard: Yard) -> None:
    with yard.open_work(reading=True) as reader:
        assert reader.pieces.count() == 0
        with yard.open_work() as writer:
            receive(writer, 2)
            writer.commit()
        assert reader.pieces.count() == 0

    with yard.open_work(reading=True) as reader:
        assert reader.pieces.count() == 2


def test_many_who_open_a_new_yard_at_once_find_one_made(empty_place: str) -> None:
    faults: list[Exception] = []

    def use() -> None:
        try:
            with open_yard(empty_place) as yard, yard.open_work(now=NOON) as work:
                receive(work)
                work.commit()
        except Exception as error:
            faults.append(error)

    threads = [threading.Thread(target=use) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert faults == []
    with open_yard(empty_place) as yard, yard.open_work(reading=True) as work:
        assert work.pieces.count() == 6


def test_who_is_asking_is_the_login_unless_told(sqlite_yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(os.environ, "USER", "ada")

    with sqlite_yard.open_work() as work:
        assert work.who == "ada"
    with sqlite_yard.open_work(who="Bo") as work:
        assert work.who == "Bo"


def test_what_the_database_cannot_hold_is_bad_input(yard: Yard) -> None:
    with yard.open_work() as work, pytest.raises(BadInput):
        work.workshop.set("\ud800", 1)
    with yard.open_work() as work, pytest.raises(BadInput):
        work.plans.get(10**30)
    with yard.open_work() as work, pytest.raises(BadInput):
        receive(work, value="1" + "0" * 30)


def test_a_server_without_a_free_place_is_said_so(postgres_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_yard(postgres_url) as yard, contextlib.ExitStack() as held:
        monkeypatch.setattr(yard.engine.pool, "_timeout", 0.1)
        for _ in range(30):
            held.enter_context(yard.open_work(reading=True))
        with pytest.raises(Contended, match="Too many are at work"):
            held.enter_context(yard.open_work(reading=True))
