"""A database or a disk that will not serve: a sentence, the right exit code, and nothing half-written."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.cli.command import stockyard

TALLY = "Species,Length (mm),Width (mm),Thickness (mm),Price each\nBlackbutt,1800,140,25,21.35\n"


@pytest.fixture
def tally(tmp_path: Path) -> Path:
    path = tmp_path / "tally.csv"
    path.write_text(TALLY)
    return path


def receive(db: object, tally: Path, docket: str = "1", code: int | None = 0) -> str:
    answer = stockyard("--db", db, "receive", tally, "--supplier", "R", "--docket", docket, code=code)
    return answer.out + answer.err


def test_a_database_newer_than_the_program_is_refused(tmp_path: Path, tally: Path) -> None:
    db = tmp_path / "yard.db"
    receive(db, tally)
    with sqlite3.connect(db) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    assert "newer Stockyard" in stockyard("--db", db, "boards", code=3).err
    assert "newer Stockyard" in stockyard("--db", db, "upgrade", code=3).err


def test_a_file_that_is_no_database_is_refused_and_left_alone(tmp_path: Path) -> None:
    db = tmp_path / "letter.txt"
    db.write_text("Dear supplier, " * 100)
    stockyard("--db", db, "boards", code=3)
    assert db.read_text().startswith("Dear supplier")


def test_somebody_elses_database_is_refused_and_left_alone(tmp_path: Path) -> None:
    db = tmp_path / "other.db"
    with sqlite3.connect(db) as connection:
        connection.execute("CREATE TABLE recipe (name TEXT)")
    connection.close()
    assert "not a yard" in stockyard("--db", db, "boards", code=3).err
    with sqlite3.connect(db) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == [("recipe",)]
    connection.close()


def test_a_folder_is_no_database(tmp_path: Path) -> None:
    assert "folder" in stockyard("--db", tmp_path, "boards", code=3).err


def test_an_unknown_kind_of_url_is_bad_input() -> None:
    assert "SQLite or PostgreSQL" in stockyard("--db", "mysql://here/yard", "boards", code=2).err


def test_a_server_that_does_not_answer_is_told_in_a_sentence() -> None:
    answer = stockyard("--db", "postgresql://nobody@127.0.0.1:1/yard", "boards", code=3)
    assert len(answer.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.csv", b""),
        ("noise.csv", bytes(range(256)) * 40),
        ("not.xlsx", b"PK\x03\x04 this is no workbook"),
        ("old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600),
        ("picture.csv", b"\x89PNG\r\n\x1a\n" + b"\0" * 100),
    ],
)
def test_what_is_no_tally_is_refused(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    told = receive(tmp_path / "yard.db", path, code=2)
    assert "Traceback" not in told
    assert stockyard("--db", tmp_path / "yard.db", "boards", "--json").json == []


def test_a_workbook_that_swells_beyond_measure_is_refused_before_it_does(tmp_path: Path) -> None:
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", "<workbook/>")
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 500_000_000)
    assert path.stat().st_size < 1_000_000
    receive(tmp_path / "yard.db", path, code=2)


def test_a_file_that_is_not_there_is_bad_input(tmp_path: Path) -> None:
    assert "cannot be read" in receive(tmp_path / "yard.db", tmp_path / "missing.csv", code=2)


@pytest.mark.parametrize(
    "content", ["", "{", '{"format": "stockyard.stock/9"}', '{"boards": NaN}', "[" * 9000]
)
def test_what_is_no_stock_is_refused_and_no_plan_written(tmp_path: Path, content: str) -> None:
    stock, job, out = tmp_path / "s.json", tmp_path / "j.json", tmp_path / "p.json"
    stock.write_text(content)
    job.write_text(json.dumps({"format": "stockyard.job/1", "id": "x", "panels": []}))
    stockyard("select", "--stock", stock, "--job", job, "--out", out, code=2)
    assert not out.exists()


def test_a_full_disk_loses_nothing_that_was_committed(tmp_path: Path, tally: Path) -> None:
    """The file may grow no further, as on a full disk: the next delivery is refused, the first stands."""
    db = tmp_path / "yard.db"
    receive(db, tally)
    many = tmp_path / "many.csv"
    many.write_text(TALLY + "Blackbutt,1800,140,25,21.35\n" * 4000)
    limit = db.stat().st_size + 100_000
    script = (
        "import resource, signal, sys\n"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "from stockyard.cli import main\n"
        "main(sys.argv[1:])"
    )
    args = ["--db", str(db), "receive", str(many), "--supplier", "R", "--docket", "2"]
    done = subprocess.run([sys.executable, "-c", script, *args], capture_output=True, text=True, check=False)
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr
    assert [row["docket"] for row in stockyard("--db", db, "boards", "--json").json] == ["1"]
    receive(db, tally, docket="2")


def test_a_read_only_disk_can_be_looked_at_and_not_written_to(tmp_path: Path, tally: Path) -> None:
    """Root may write anywhere, so root first loads all it needs on another yard, and then becomes nobody."""
    db = tmp_path / "yard" / "yard.db"
    receive(db, tally)
    script = (
        "import os, sys\n"
        "from stockyard.cli import main\n"
        "try: main(['--db', sys.argv[1], *sys.argv[3:]])\n"
        "except SystemExit: pass\n"
        "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
        "main(['--db', *sys.argv[2:]])"
    )
    for folder in (tmp_path, *tmp_path.parents):
        if folder.owner() == tmp_path.owner() and str(folder).startswith("/tmp/"):
            folder.chmod(0o755)
    os.chmod(db, 0o444)
    os.chmod(db.parent, 0o555)
    elsewhere = str(tmp_path / "other.db")
    args = [elsewhere, str(db), "receive", str(tally), "--supplier", "R", "--docket", "2"]
    try:
        done = subprocess.run(
            [sys.executable, "-c", script, *args], capture_output=True, text=True, check=False
        )
    finally:
        os.chmod(db.parent, 0o755)
        os.chmod(db, 0o644)
    assert done.returncode == 3, done.stderr
    assert "Traceback" not in done.stderr
    assert len(stockyard("--db", db, "boards", "--json").json) == 1
    shutil.rmtree(db.parent)


def test_an_output_place_that_cannot_be_written_is_bad_input(tmp_path: Path, tally: Path) -> None:
    db = tmp_path / "yard.db"
    receive(db, tally)
    answer = stockyard("--db", db, "board", "BB-0001", "--svg", tally / "map.svg", code=2)
    assert "cannot be written" in answer.err
