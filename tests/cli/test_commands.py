"""The commands as a person uses them, on a real file."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command import stockyard

TALLY = (
    "Species,Length (mm),Width (mm),Thickness (mm),Qty,Price each\n"
    "Spotted Gum,2400,180,32,3,48.00\n"
    "Blackbutt,1800,140,25,2,21.35\n"
)


@pytest.fixture
def db(tmp_path: Path) -> Path:
    """A yard with one delivery in it."""
    path = tmp_path / "yard.db"
    tally = tmp_path / "tally.csv"
    tally.write_text(TALLY)
    stockyard("--db", path, "receive", tally, "--supplier", "Riverbend Mill", "--docket", "7", "--tax", "0")
    return path


def test_receiving_shows_how_the_tally_was_read_and_what_it_came_to(tmp_path: Path) -> None:
    tally = tmp_path / "tally.csv"
    tally.write_text(TALLY)
    args = ("receive", tally, "--supplier", "Riverbend Mill", "--docket", "7", "--freight", "18.00")
    answer = stockyard("--db", tmp_path / "yard.db", *args, "--check")
    assert "nothing was written" in answer.out
    assert "Price each" in answer.out
    assert stockyard("--db", tmp_path / "yard.db", "boards", "--json").json == []
    booked = stockyard("--db", tmp_path / "yard.db", *args, "--json").json
    assert booked["landed"] == 204.7
    assert len(booked["pieces"]) == 5


def test_the_same_docket_twice_ends_with_three(db: Path, tmp_path: Path) -> None:
    args = ("receive", tmp_path / "tally.csv", "--supplier", "Riverbend Mill", "--docket", "7")
    answer = stockyard("--db", db, *args, code=3)
    assert "booked once" in answer.err


def test_faults_go_to_the_error_stream_and_end_with_two(db: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("Species,Length (mm),Width (mm),Thickness (mm),Price each\nBlackbutt,-4,90,25,x\n")
    answer = stockyard("--db", db, "receive", bad, "--supplier", "R", "--docket", "8", code=2)
    assert answer.out == ""
    assert answer.err.count("row 2") == 2
    told = stockyard("--db", db, "receive", bad, "--supplier", "R", "--docket", "8", "--json", code=2)
    assert len(json.loads(told.err)["faults"]) == 2


def test_boards_can_be_filtered(db: Path) -> None:
    assert [row["id"] for row in stockyard("--db", db, "boards", "--json").json] == [
        "BB-0001", "BB-0002", "SG-0001", "SG-0002", "SG-0003",
    ]  # fmt: skip
    assert len(stockyard("--db", db, "boards", "--species", "Spotted Gum", "--json").json) == 3
    assert len(stockyard("--db", db, "boards", "--min-width", "150", "--json").json) == 3
    assert len(stockyard("--db", db, "boards", "--min-length", "2401", "--json").json) == 0
    assert len(stockyard("--db", db, "boards", "--docket", "7", "--json").json) == 5
    assert len(stockyard("--db", db, "boards", "--max-moisture", "20", "--json").json) == 0
    assert len(stockyard("--db", db, "boards", "--status", "gone", "--json").json) == 0
    stockyard("--db", db, "boards", "--status", "lost", code=2)
    assert "blackbutt" in stockyard("--db", db, "boards", "--species", "blackbut", code=2).err


def test_a_board_is_shown_corrected_moved_and_drawn(db: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "map.svg"
    shown = stockyard(
        "--db", db, "board", "SG-0001",
        "--correct", "width=176", "--correct", "heart=B", "--move", "rack 2", "--because", "measured",
        "--svg", drawing,
    )  # fmt: skip
    assert "2400 x 176 x 32" in shown.out
    assert "rack 2" in shown.out
    assert drawing.read_text().startswith("<")
    history = stockyard("--db", db, "board", "SG-0001", "--history").out
    assert "measured" in history
    assert stockyard("--db", db, "board", "SG-0001", "--json").json["heart_face"] == "B"
    stockyard("--db", db, "board", "SG-0001", "--correct", "width=-1", code=2)
    stockyard("--db", db, "board", "SG-9999", code=2)


def test_boards_are_written_down_and_disposed_of_with_a_reason(db: Path) -> None:
    stockyard("--db", db, "board", "SG-0001", "--write-down", "20.00", "--because", "split in the sun")
    assert stockyard("--db", db, "board", "SG-0001", "--json").json["value"] == 20
    stockyard("--db", db, "board", "SG-0002", "--dispose", "--because", "borers")
    assert stockyard("--db", db, "board", "SG-0002", "--json").json["status"] == "gone"
    worth = stockyard("--db", db, "worth", "--json").json["rows"][-1]["worth"]
    assert worth == pytest.approx(20 + 48 + 2 * 21.35)


def test_defects_are_added_listed_edited_and_removed(db: Path) -> None:
    added = stockyard(
        "--db", db, "defect", "add", "SG-0001", "--kind", "bark inclusion", "--face", "both",
        "--polygon", "300,40 360,40 340,70", "--note", "grown in",
    )  # fmt: skip
    assert "SG-0001/1: bark inclusion, through, 60 x 30 mm" in added.out
    stockyard("--db", db, "defect", "edit", "SG-0001/1", "--face", "A", "--because", "looked again")
    (listed,) = stockyard("--db", db, "defect", "list", "SG-0001", "--json").json
    assert (listed["defect"]["face"], listed["note"]) == ("A", "grown in")
    stockyard("--db", db, "defect", "remove", "SG-0001/1", "--because", "a mark")
    assert stockyard("--db", db, "defect", "list", "SG-0001", "--json").json == []
    assert "removed" in stockyard("--db", db, "defect", "list", "SG-0001", "--history").out
    off = stockyard(
        "--db", db, "defect", "add", "SG-0001", "--kind", "crack", "--face", "A", "--box", "0,0,2500,10",
        code=2,
    )  # fmt: skip
    assert "(2500, 0)" in off.err


def test_readings_are_added_and_listed(db: Path) -> None:
    stockyard("--db", db, "moisture", "add", "BB-0001", "12", "--wood-temp", "30", "--meter", "pins")
    (reading,) = stockyard("--db", db, "moisture", "list", "BB-0001", "--json").json
    assert (reading["raw_pct"], reading["corrected_pct"]) == (12, 12)
    stockyard("--db", db, "moisture", "add", "BB-0001", "12", "--date", "1 Jan 2999", code=2)


def test_volume_and_worth_reconcile_with_the_boards(db: Path) -> None:
    boards = stockyard("--db", db, "boards", "--json").json
    rows = stockyard("--db", db, "worth", "--by", "species", "--by", "thickness", "--json").json["rows"]
    assert rows[-1]["worth"] == pytest.approx(sum(board["value"] for board in boards))
    volume = stockyard("--db", db, "volume", "--json").json["rows"][-1]
    cubic = sum(board["length"] * board["width"] * board["thickness"] for board in boards) / 1e9
    assert volume["gross_m3"] == pytest.approx(cubic, abs=5e-5)
    stockyard("--db", db, "volume", "--by", "colour", code=2)


COMMANDS = (
    ("boards",),
    ("board", "SG-0001", "--history"),
    ("defect", "list", "SG-0001"),
    ("moisture", "list", "BB-0001"),
    ("volume", "--by", "species", "--by", "place"),
    ("worth",),
    ("job", "list"),
    ("plan", "list"),
    ("step", "list"),
)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_everything_fits_eighty_columns(db: Path, command: tuple[str, ...]) -> None:
    stockyard("--db", db, "moisture", "add", "BB-0001", "12", "--wood-temp", "30", "--meter", "yellow")
    stockyard("--db", db, "defect", "add", "SG-0001", "--kind", "crack", "--face", "A", "--box", "1,1,90,5",
              "--note", "runs with the grain and may close again when it has dried a little")  # fmt: skip
    out = stockyard("--db", db, *command).out
    assert [line for line in out.splitlines() if len(line.rstrip()) > 80] == []


def _name(command: Any) -> str:
    return str(command.name or command.callback.__name__)


def _commands() -> list[tuple[str, ...]]:
    from stockyard.cli.commands import with_every_command

    app = with_every_command()
    found: list[tuple[str, ...]] = [
        (str(command.name or getattr(command.callback, "__name__", "")),)
        for command in app.registered_commands
    ]
    for group in app.registered_groups:
        inner: Any = group.typer_instance
        found += [(str(group.name), command.name) for command in inner.registered_commands]
    return found


@pytest.mark.parametrize("command", _commands(), ids=" ".join)
def test_help_ends_with_an_example(command: tuple[str, ...]) -> None:
    shown = " ".join(stockyard(*command, "--help").out.split())
    assert re.search(rf"Example: stockyard {' '.join(command)}\b.*$", shown)


def test_help_loads_no_heavy_library() -> None:
    import subprocess
    import sys

    script = (
        "import sys\n"
        "from stockyard.cli import main\n"
        "try: main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = set('sqlalchemy pandas numpy cv2 highspy ortools numba shapely openpyxl alembic'.split())\n"
        "heavy |= set('fastapi starlette pydantic uvicorn jinja2 argon2'.split())\n"
        "sys.exit(repr(sorted(heavy & set(sys.modules))) if heavy & set(sys.modules) else 0)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
