import io
from pathlib import Path

import pytest

from tests.cli.command import stockyard
from tests.cli.test_commands import db  # noqa: F401  the yard with one delivery


@pytest.fixture
def counted(db: Path) -> Path:  # noqa: F811
    """A yard whose boards stand in rack A and B, with a count of A open."""
    for number, place in (("SG-0001", "rack A"), ("SG-0002", "rack A"), ("SG-0003", "rack B")):
        stockyard("--db", db, "board", number, "--move", place)
    stockyard("--db", db, "stocktake", "start", "rack A")
    return db


def test_a_count_is_started_added_to_shown_and_booked(counted: Path) -> None:
    stockyard("--db", counted, "stocktake", "add", "SG-0003", "ZZ-0001")
    stockyard("--db", counted, "stocktake", "add", "SG-0001", "--size", "2380 x 178 x 32")
    shown = stockyard("--db", counted, "stocktake", "show").out
    assert "1 missing, 1 misplaced, 1 unknown, 0 gone, 1 remeasured, 0 meanwhile, 1 found." in shown
    assert [line for line in shown.splitlines() if len(line.rstrip()) > 80] == []
    assert "why they are missing" in stockyard("--db", counted, "stocktake", "book", code=2).err

    booked = stockyard("--db", counted, "stocktake", "book", "--because", "lost", "--json").json

    assert (booked["state"], len(booked["movements"])) == ("booked", 1)
    assert stockyard("--db", counted, "board", "SG-0003", "--json").json["place"] == "rack A"
    assert stockyard("--db", counted, "board", "SG-0002", "--json").json["status"] == "gone"
    assert stockyard("--db", counted, "board", "SG-0001", "--json").json["width"] == 178


def test_numbers_are_read_from_a_scanner_as_lines(counted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("sg-0001\n\nSG-0002, SG-0003\n"))
    told = stockyard("--db", counted, "stocktake", "add", "--json").json
    assert told["counts"]["found"] == 2
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    stockyard("--db", counted, "stocktake", "add", code=2)


def test_a_number_read_by_mistake_is_taken_back_and_a_count_given_up(counted: Path) -> None:
    stockyard("--db", counted, "stocktake", "add", "SG-0001")
    taken = stockyard("--db", counted, "stocktake", "add", "SG-0001", "--take-back", "--json").json
    assert taken["counts"]["missing"] == 2
    assert "nothing was booked" in stockyard("--db", counted, "stocktake", "drop").out
    assert "dropped" in stockyard("--db", counted, "stocktake", "list").out
    (listed,) = stockyard("--db", counted, "stocktake", "list", "--json").json
    assert (listed["count"], listed["place"], listed["state"]) == (1, "rack A", "dropped")
    stockyard("--db", counted, "stocktake", "add", "SG-0001", "--count", "1", code=3)
    stockyard("--db", counted, "stocktake", "add", "SG-0001", "--size", "2380x178", code=2)
