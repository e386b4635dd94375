"""Grades, the bench sheet, quotes and the workshop's habits, as a person uses them on a real file."""

import json
from pathlib import Path

import pytest

from stockyard.records import open_yard
from stockyard.timber import DefectKind, Face
from tests.builders import a_box
from tests.cli.command import stockyard
from tests.stocking import a_plan, keep_plan, receive


@pytest.fixture
def db(sqlite_path: Path) -> Path:
    """A yard with three boards, each with a crack that plan 1 treats."""
    with open_yard(sqlite_path) as yard, yard.open_work() as work:
        boards = receive(work, 3)
        for board in boards:
            box = a_box(300, 80, 400, 84)
            work.defects.add(board, DefectKind.CRACK, Face.A, box, depth_mm=3, opening_mm=0.4)
        keep_plan(work, a_plan(boards, "thin cyanoacrylate"))
        work.commit()
    return sqlite_path


def test_a_board_is_graded_and_what_kept_it_down_is_told(db: Path) -> None:
    told = " ".join(stockyard("--db", db, "grade", "SG-0001").out.split())
    assert "surface measure 4" in told
    assert "not a certified grade" in told
    assert "flat and straight it leaves 29.0 mm" in told
    (board,) = stockyard("--db", db, "grade", "SG-0001", "--json").json["boards"]
    assert board["nhla"]["surface_measure"] == 4
    assert any("at least 6 in x 8 ft" in why for why in board["why_no_higher"])


def test_a_bend_measured_over_a_part_is_carried_to_the_board_and_to_a_piece_of_it(db: Path) -> None:
    # A sagitta grows with the square of the length: 5 mm over 1200 is 20 over 2400, and 5 over 1200 again.
    stockyard("--db", db, "board", "SG-0001", "--correct", "bow=5/1200", "--correct", "twist=2")
    assert stockyard("--db", db, "board", "SG-0001", "--json").json["distortion"]["bow"] == 20
    asked = ("grade", "SG-0001", "--piece", "1200x90")
    told = " ".join(stockyard("--db", db, *asked).out.split())
    assert "a piece of 1200 x 90 mm keeps bow 5.0, spring 0.0, cup 0.0, twist 0.5 mm" in told
    (board,) = stockyard("--db", db, *asked, "--json").json["boards"]
    assert board["thickness_left"] == pytest.approx(32 - 5 - 0.5 - 2 * 1.5)
    told = stockyard("--db", db, "board", "SG-0001", "--correct", "bow=5/9000", code=2).err
    assert "at most 2400 mm" in told


def test_an_appearance_list_may_be_the_workshops_own(db: Path, tmp_path: Path) -> None:
    ours = tmp_path / "ours.csv"
    ours.write_text(
        "grade,features,surfaces,allowed,words\nFine,crack,all,no,cracks\nPlain,crack,all,yes,cracks\n"
    )
    told = stockyard("--db", db, "grade", "SG-0001", "--by", ours).out
    assert "SG-0001, spotted gum, 2400 x 180 x 32 mm: Plain" in told
    assert "face A has cracks, none allowed (SG-0001/1)" in told
    copied = tmp_path / "to-fill.csv"
    stockyard("--db", db, "grade", "--by", "as2796", "--copy-list", copied)
    assert "grade,features" in copied.read_text()
    ours.write_text("grade,colour\nFine,red\n")
    assert "colour" in stockyard("--db", db, "grade", "SG-0001", "--by", ours, code=2).err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("grade",), "Nothing was named to grade"),
        (("grade", "SG-0009"), "no board"),
        (("grade", "--docket", "9"), "no docket"),
        (("grade", "SG-0001", "--by", "best"), "no appearance list"),
        (("grade", "SG-0001", "--piece", "900"), "such as 900x120"),
        (("grade", "SG-0001", "--piece", "9000x120"), "within 2400 x 180 mm"),
        (("prep", "9"), "no plan"),
        (("prep", "1", "--joint", "nails"), "one of biscuit, dowel, spline, plain"),
        (("prep", "1", "--later-cut", "600"), "PANEL:MM"),
        (("prep", "1", "--later-cut", "top:5000"), "0 to 1200 mm"),
        (("prep", "1", "--start", "soon"), "--start"),
        (("quote", "shelf"), "no job"),
        (("quote", "hall-bench", "--minutes", "lots"), "--minutes"),
        (("quote", "hall-bench", "--minutes", "-5"), "0 or more"),
        (("quote", "hall-bench", "--plan", "7"), "no plan"),
    ],
)
def test_bad_input_is_told_in_a_sentence(db: Path, arguments: tuple[str, ...], said: str) -> None:
    answer = stockyard("--db", db, *arguments, code=2)
    assert answer.out == ""
    assert said in answer.err


def test_the_bench_sheet_is_printed_with_dates_and_cautions(db: Path) -> None:
    told = stockyard("--db", db, "prep", "1", "--start", "2026-12-01").out
    for words in (
        "Tue 01 Dec 08:00",
        "stabilise before jointing",
        "stave 2",
        "clamps",
        "cyanoacrylate: Bonds",
    ):
        assert words in told
    sheet = stockyard("--db", db, "prep", "1", "--joint", "spline", "--later-cut", "top:600", "--json").json
    assert sheet["habits"]["joints"]["kind"] == "spline"
    assert len(sheet["panels"][0]["joints"][0]["stretches"]) == 2
    assert sheet["cautions"][-1].startswith("Read the product's label")


def test_a_quote_says_what_it_assumes(db: Path) -> None:
    told = stockyard("--db", db, "quote", "hall-bench", "--minutes", "60").out
    for words in ("labour", "It assumes:", "60 minutes of other labour", "price without tax"):
        assert words in told
    quoted = stockyard("--db", db, "quote", "hall-bench", "--json").json
    assert quoted["total"] == pytest.approx(quoted["price"] + quoted["tax"])
    assert quoted["cost"] == pytest.approx(sum(line["amount"] for line in quoted["lines"]))


def test_a_job_without_a_plan_or_price_is_refused(db: Path, tmp_path: Path) -> None:
    document = stockyard("--db", db, "job", "show", "hall-bench", "--json").json
    job = tmp_path / "shelf.json"
    job.write_text(json.dumps({**document, "id": "shelf"}))
    stockyard("--db", db, "job", "add", job)
    assert "stockyard select shelf" in stockyard("--db", db, "quote", "shelf", code=3).err
    assert stockyard("--db", db, "quote", "shelf", "--buy-at", "6500", "--json").json["to_buy"] == ["top"]


def test_the_workshops_own_figures_are_set_and_shown(db: Path, tmp_path: Path) -> None:
    assert "own" not in stockyard("--db", db, "habits").out.split()
    ours = tmp_path / "ours.json"
    ours.write_text('{"format": "stockyard.habits/1", "rates": {"labour": 95}}')
    assert "own" in stockyard("--db", db, "habits", ours).out.split()
    assert stockyard("--db", db, "habits", "--json").json["rates"]["labour"] == 95
    ours.write_text('{"format": "stockyard.habits/1", "rates": {"labor": 95}}')
    assert "did you mean labour" in stockyard("--db", db, "habits", ours, code=2).err


SHOWN = (
    ("grade", "SG-0001"),
    ("grade", "SG-0001", "--by", "wa"),
    ("prep", "1"),
    ("quote", "hall-bench"),
    ("habits",),
)


@pytest.mark.parametrize("command", SHOWN, ids=" ".join)
def test_everything_fits_eighty_columns(db: Path, command: tuple[str, ...]) -> None:
    out = stockyard("--db", db, *command).out
    assert [line for line in out.splitlines() if len(line.rstrip()) > 80] == []
