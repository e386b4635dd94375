"""Why, suits, choices, spares, buying and planning again, as a person asks for them."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command import stockyard

TALLY = (
    "Species,Length (mm),Width (mm),Thickness (mm),Qty,Price each\n"
    "Spotted Gum,970,130,32,2,40.00\n"
    "Spotted Gum,970,130,32,1,50.00\n"
    "Spotted Gum,950,130,32,1,20.00\n"
)
SHELF: dict[str, Any] = {
    "format": "stockyard.job/1",
    "id": "hall-shelf",
    "moisture": {"unread": "allow"},
    "panels": [
        {
            "id": "shelf", "length": 900, "width": 240, "thickness": 24, "species": ["spotted gum"],
            "staves": {"min": 2, "max": 2}, "stave_width": {"min": 120, "max": 120}, "show": "one",
            "priority": 1,
        }
    ],
}  # fmt: skip
PRICES = "supplier,species,length,width,thickness,price\nRiverbend Mill,spotted gum,970,130,32,45\n"


@pytest.fixture
def db(tmp_path: Path) -> Path:
    """A yard with four boards, three of which give one stave of a shelf of two."""
    path = tmp_path / "yard.db"
    (tmp_path / "tally.csv").write_text(TALLY)
    (tmp_path / "shelf.json").write_text(json.dumps(SHELF))
    (tmp_path / "two.json").write_text(
        json.dumps(SHELF | {"id": "two", "panels": [SHELF["panels"][0] | {"id": f"s{n}"} for n in range(2)]})
    )
    (tmp_path / "prices.csv").write_text(PRICES)
    order = ("--supplier", "Riverbend Mill", "--docket", "7", "--tax", "0")
    stockyard("--db", path, "receive", tmp_path / "tally.csv", *order)
    stockyard("--db", path, "job", "add", tmp_path / "shelf.json")
    return path


def flat(text: str) -> str:
    return " ".join(text.split())


def test_why_says_what_is_wrong_and_what_would_help(db: Path, tmp_path: Path) -> None:
    told = flat(stockyard("--db", db, "why", "hall-shelf", "SG-0004").out)
    assert "shelf: 910 mm between docked ends is short of 920 mm 10 mm too short" in told
    assert "can be made" in stockyard("--db", db, "why", "hall-shelf", "shelf").out
    stockyard("--db", db, "job", "add", tmp_path / "two.json")
    told = stockyard("--db", db, "why", "two", "s1", "--seconds", 4).out
    assert "Panels s0 and s1 cannot all be made" in told
    answer = stockyard("--db", db, "why", "two", "s1", "--seconds", 4, "--json").json
    assert (answer["made"], answer["proved"]) == (False, True)
    assert stockyard("--db", db, "why", "hall-shelf", code=2).out == ""
    assert "SG-0099" in stockyard("--db", db, "why", "hall-shelf", "SG-0099", code=2).err


def test_suits_ranks_boards_by_what_they_add(db: Path) -> None:
    answer = stockyard("--db", db, "suits", "hall-shelf", "shelf", "--seconds", 20, "--json").json
    assert {each["board"]: each["adds"] for each in answer["suited"]} == {
        "SG-0001": 0, "SG-0002": 0, "SG-0003": 10,
    }  # fmt: skip
    told = stockyard("--db", db, "suits", "hall-shelf", "shelf", "--seconds", 20).out
    assert "10.00" in told
    assert "10 mm too short" in told
    assert all(len(line.rstrip()) <= 80 for line in told.splitlines())


def test_choices_and_wishes_steer_a_selection(db: Path) -> None:
    told = stockyard("--db", db, "select", "hall-shelf", "--choices", 2, "--seconds", 10).out
    assert "cheapest" in told
    assert all(len(line.rstrip()) <= 80 for line in told.splitlines())
    args = ("--forbid", "SG-0001", "--pin", "SG-0003:shelf", "--seconds", 10, "--json")
    plan = stockyard("--db", db, "select", "hall-shelf", *args).json
    assert {board["id"] for board in plan["boards"]} == {"SG-0002", "SG-0003"}
    answer = stockyard("--db", db, "select", "hall-shelf", "--choices", 3, "--seconds", 10, "--json").json
    assert answer["choices"][0]["more"] == 0
    wrong = stockyard("--db", db, "select", "hall-shelf", "--pin", "SG-0003:top", code=2).err
    assert "BOARD:PANEL" in wrong


def test_spares_says_how_likely_the_plan_survives(db: Path) -> None:
    args = ("--spares", "--loss", 10, "--seconds", 15)
    told = flat(stockyard("--db", db, "select", "hall-shelf", *args).out)
    assert "No stave is lost: 81%" in told
    # Two staves, one spare: 0.9 x 0.9 and 2 x 0.1 x 0.9.
    assert "With SG-0003 put aside (worth 50.00): 99%" in told
    spares = stockyard("--db", db, "select", "hall-shelf", *args, "--json").json["spares"]
    assert spares["unharmed"] == pytest.approx(0.81)
    by_species = ("--spares", "--loss", 50, "--loss", "spotted gum=20", "--seconds", 10, "--json")
    assert stockyard("--db", db, "select", "hall-shelf", *by_species).json["spares"][
        "unharmed"
    ] == pytest.approx(0.64)
    assert (
        "PERCENT" in stockyard("--db", db, "select", "hall-shelf", "--spares", "--loss", "oak=5", code=2).err
    )


def test_buy_names_what_completes_the_job(db: Path, tmp_path: Path) -> None:
    prices = ("--prices", tmp_path / "prices.csv", "--seconds", 30, "--trials", 10)
    assert "Nothing needs to be bought" in stockyard("--db", db, "buy", "hall-shelf", *prices).out
    stockyard("--db", db, "job", "add", tmp_path / "two.json")
    told = flat(stockyard("--db", db, "buy", "two", *prices).out)
    assert "Together 45.00 AUD." in told
    assert "10 of 10 fresh trials" in told
    answer = stockyard("--db", db, "buy", "two", *prices, "--json").json
    assert (answer["price"], answer["buy"][0]["count"], answer["likely_enough"]) == (45, 1, True)
    assert stockyard("--db", db, "buy", "two", code=2).out == ""


def test_a_spoiled_stave_is_planned_again(db: Path) -> None:
    number = stockyard("--db", db, "select", "hall-shelf", "--seconds", 10, "--json").json["plan"]
    stockyard("--db", db, "allocate", number)
    stockyard("--db", db, "cut", number, "--spoiled", "shelf/1")
    told = flat(stockyard("--db", db, "plan", "again", number, "--seconds", 10).out)
    assert "Only what was lost is replaced. 1 stave is cut anew" in told
    assert "What comes in: SG-0003." in told
    assert "it costs 54.00 AUD more than the plan before" in told
    assert f"kept as plan {number + 1}" in told
    wrong = ("plan", "again", number, "--spoiled", "shelf")
    assert "PANEL/STAVE" in stockyard("--db", db, *wrong, code=2).err


def test_all_of_it_runs_from_files_alone(db: Path, tmp_path: Path) -> None:
    stock = {
        "format": "stockyard.stock/1",
        "currency": "AUD",
        "boards": [
            {
                "id": f"b{n}",
                "species": "spotted gum",
                "length": 970,
                "width": 130,
                "thickness": 32,
                "value": 20 + n,
                "defects": [],
            }
            for n in range(3)
        ],
    }
    (tmp_path / "stock.json").write_text(json.dumps(stock))
    files = ("--stock", tmp_path / "stock.json", "--job", tmp_path / "shelf.json")
    stockyard("select", *files, "--out", tmp_path / "plan.json", "--seconds", 10)
    again = ("plan", "again", "--plan", tmp_path / "plan.json", *files, "--spoiled", "shelf/2", "--json")
    assert stockyard(*again).json["added"] == ["b2"]
    assert stockyard("suits", "shelf", *files, "--json").json["suited"][2]["adds"] == 1
    assert stockyard("why", "b0", *files, "--json").json[0]["obstacles"] == []
    assert stockyard("select", *files, "--choices", 2, "--seconds", 10, "--json").json["tried"] >= 2
    assert (
        stockyard("select", *files, "--spares", "--seconds", 10, "--json").json["spares"]["spare"]["board"]
        == "b2"
    )
    prices = ("--prices", tmp_path / "prices.csv", "--trials", 5)
    assert stockyard("buy", *prices, *files, "--json").json["lacking"] == []
    stockyard("suits", "shelf", "--stock", tmp_path / "stock.json", code=2)
