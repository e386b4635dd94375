"""Climate, readiness, movement and species, as a person uses them on a real file."""

import json
from pathlib import Path

import pytest

from stockyard.records import open_yard
from tests.cli.command import stockyard
from tests.stocking import a_plan, keep_plan, receive


@pytest.fixture
def db(sqlite_path: Path) -> Path:
    """A yard with three boards and a plan of two staves."""
    with open_yard(sqlite_path) as yard, yard.open_work() as work:
        boards = receive(work, 3)
        keep_plan(work, a_plan(boards[:2]))
        work.commit()
    stockyard("--db", sqlite_path, "climate", "add", "shop", "20", "50", "--zone", "Australia/Brisbane")
    return sqlite_path


def log(path: Path, *rows: str) -> Path:
    path.write_text("Time,Temperature (°C),Humidity (%RH)\n" + "\n".join(rows) + "\n")
    return path


def test_air_is_logged_imported_shown_and_taken_back(db: Path, tmp_path: Path) -> None:
    cold = stockyard("--db", db, "climate", "add", "shed", "-2", "80", "--at", "2024-01-15 08:00").out
    assert "1 reading added" in cold
    file = log(tmp_path / "hall.csv", *(f"2024-06-{day:02} 09:00,20,50" for day in range(1, 31)))
    told = stockyard("--db", db, "climate", "import", "hall", file).out
    assert "30 readings added" in told
    assert "humidity: Humidity (%RH)" in told
    again = stockyard("--db", db, "climate", "import", "hall", file, "--json").json
    assert (again["new"], again["repeated"]) == (0, 30)
    shown = stockyard("--db", db, "climate", "show", "hall")
    assert "2024-06" in shown.out
    assert "9.3" in shown.out
    assert "Logged too: shed, shop" in shown.out
    assert stockyard("--db", db, "climate", "show", "--json").json["place"]["zone"] == "Australia/Brisbane"
    stockyard("--db", db, "climate", "take-back", "3", "--because", "the wrong room")
    assert "the wrong room" in stockyard("--db", db, "climate", "show", "hall").out
    stockyard("--db", db, "climate", "take-back", "3", "--because", "again", code=3)
    stockyard("--db", db, "climate", "take-back", "99", "--because", "none", code=2)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("climate", "add", "shop", "21", "0.5"), "If that was a share, write 50."),
        (("climate", "add", "shop", "70", "55"), "If that was Fahrenheit, it is 21.1 °C."),
        (("climate", "add", "shop", "21", "55", "--at", "noon"), "expected a time such as"),
        (("climate", "add", "shop", "21", "55", "--at", "2999-01-01 08:00"), "a time up to now"),
        (("climate", "show", "attic"), "no logged place"),
        (("ready", "--to-air", "22/0.45"), "If that was a share, write 45."),
        (("ready", "--to-air", "72/45"), "If that was Fahrenheit"),
        (("ready", "--to-air", "22"), "degrees C and percent such as 22/45"),
        (("ready", "SG-0009"), "no board"),
        (("ready", "--job", "shelf"), "no job"),
        (("movement", "1"), "Where the panel goes is not known"),
        (("movement", "9", "--dry", "22/35", "--damp", "24/65"), "no plan"),
        (("species", "show", "jarah"), "Did you mean jarrah?"),
        (("species", "add", "plum", "--figure", "density"), "QUANTITY=VALUE"),
        (("species", "add", "plum", "--figure", "density=x"), "expected a number"),
        (("species", "add", "plum", "--figure", "movement radial=0.3", "--source", "ours"), "0.0003 to 0.01"),
    ],
)
def test_bad_input_is_told_in_a_sentence(db: Path, arguments: tuple[str, ...], said: str) -> None:
    answer = stockyard("--db", db, *arguments, code=2)
    assert answer.out == ""
    assert said in answer.err


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (("2024-01-01 09:00,20,0.50", "2024-01-02 09:00,20,0.55"), "shares of 1"),
        (("2024-01-01 09:00,68,50", "2024-01-02 09:00,70,55"), "looks like °F"),
        (("2024-01-01 09:00,20,50", "2024-01-01 09:00,21,50"), "one reading for"),
        (("2024-01-01 09:00,20,x", "soon,20,50"), "row 2, humidity"),
    ],
)
def test_a_loggers_file_is_refused_whole_with_its_faults(
    db: Path, tmp_path: Path, rows: tuple[str, ...], said: str
) -> None:
    file = log(tmp_path / "bad.csv", *rows)
    answer = stockyard("--db", db, "climate", "import", "shop", file, "--json", code=2)
    assert said in json.loads(answer.err)["faults"][0]["where"] + str(json.loads(answer.err)["faults"])
    assert stockyard("--db", db, "climate", "show", "--json").json["readings"] == 1
    stockyard("--db", db, "climate", "import", "shop", tmp_path / "none.csv", code=2)


def test_boards_are_judged_on_the_rack_and_in_detail(db: Path) -> None:
    stockyard("--db", db, "moisture", "add", "SG-0001", "10", "--meter", "ovendry")
    stockyard("--db", db, "moisture", "add", "SG-0002", "60", "--meter", "pins", "--wood-temp", "20")
    rack = stockyard("--db", db, "ready").out
    assert "1 of 3 may be used today" in rack
    assert "no data" in rack
    detail = stockyard("--db", db, "ready", "SG-0001", "--to-air", "20/75").out
    assert "SG-0001, spotted gum: not ready" in detail
    assert "10.0 % is below 12.5 %." in detail
    boards = stockyard("--db", db, "ready", "--json").json["boards"]
    assert [board["ready"] for board in boards] == [True, False, False]
    assert boards[1]["percent"] is None


def test_a_weighed_sample_needs_no_correction(db: Path) -> None:
    # Wood Handbook, equation (4-2): (152.4 - 135.8) / 135.8 is 12.2 % of the ovendry mass.
    assert "12.22 %" in stockyard("--db", db, "moisture", "weigh", "SG-0001", "152.4", "135.8").out
    (reading,) = stockyard("--db", db, "moisture", "list", "SG-0001", "--json").json
    assert reading["corrected_pct"] == reading["raw_pct"] == 12.22
    assert reading["note"].startswith("152.4 g as cut")
    told = stockyard("--db", db, "moisture", "weigh", "SG-0001", "120", "135.8", code=2).err
    assert "at least the ovendry mass" in told


def test_a_curve_is_told_with_its_band(db: Path) -> None:
    for day, percent in (("2024-01-01", 17), ("2024-02-01", 14.6), ("2024-03-01", 13.1), ("2024-04-01", 12)):
        stockyard(
            "--db", db, "moisture", "add", "SG-0001", percent, "--meter", "ovendry", "--date", day
        )  # fmt: skip
    asked = ("ready", "SG-0001", "--shop-air", "20/50", "--to-air", "20/50", "--as-of", "2024-04-02")
    told = stockyard("--db", db, *asked).out
    assert "ready on" in told
    assert "half of what is left goes in" in told
    (board,) = stockyard("--db", db, *asked, "--json").json["boards"]
    assert board["earliest"] <= board["ready_on"] <= board["latest"]
    assert board["today_band"]["low"] < board["today_band"]["percent"] < board["today_band"]["high"]


def test_movement_shows_both_answers_until_the_sawing_is_told(db: Path) -> None:
    asked = ("movement", "1", "--dry", "20/50", "--damp", "20/75")
    both = stockyard("--db", db, *asked).out
    assert "if those not known are quartersawn" in both
    assert "correct sawn=quarter" in both
    for board, sawn in (("SG-0001", "quarter"), ("SG-0002", "35")):
        stockyard("--db", db, "board", board, "--correct", f"sawn={sawn}")
    assert "rings at 35 degrees" in stockyard("--db", db, "board", "SG-0002").out
    assert "if those not known" not in stockyard("--db", db, *asked).out
    (panel,) = stockyard("--db", db, *asked, "--json").json["panels"]
    assert (panel["least"], panel["unknown"]) == (None, [])
    stockyard("--db", db, "board", "SG-0002", "--correct", "sawn=unknown")
    assert stockyard("--db", db, "board", "SG-0002", "--json").json["ring_angle_deg"] is None
    stockyard("--db", db, "board", "SG-0002", "--correct", "sawn=sideways", code=2)


def test_species_are_listed_shown_and_added(db: Path) -> None:
    assert "never guessed" in stockyard("--db", db, "species", "list").out
    stockyard(
        "--db", db, "species", "add", "spotted gum", "--figure", "movement tangential=0.0035",
        "--source", "our own strips",
    )  # fmt: skip
    shown = stockyard("--db", db, "species", "show", "spotted gum")
    assert "our own strips" in shown.out
    figures = stockyard("--db", db, "species", "show", "spotted gum", "--json").json["figures"]
    assert figures[0]["value"] == 0.0035
    assert "CP-0001" in stockyard("--db", db, "species", "add", "creek plum", "--prefix", "CP").out
    assert any(one["name"] == "creek plum" for one in stockyard("--db", db, "species", "list", "--json").json)


SHOWN = (
    ("climate", "show"),
    ("climate", "add", "shop", "21", "55", "--json"),
    ("ready",),
    ("ready", "SG-0001", "SG-0002", "--to-air", "24/60"),
    ("movement", "1", "--dry", "22/35", "--damp", "24/65"),
    ("species", "list"),
    ("species", "show", "jarrah"),
)


@pytest.mark.parametrize("command", SHOWN, ids=" ".join)
def test_everything_fits_eighty_columns(db: Path, command: tuple[str, ...]) -> None:
    stockyard("--db", db, "moisture", "add", "SG-0001", "13", "--wood-temp", "16", "--meter", "pins")
    out = stockyard("--db", db, *command).out
    assert [line for line in out.splitlines() if len(line.rstrip()) > 80] == []


def test_a_log_is_told_by_the_clock_of_its_place(sqlite_path: Path, tmp_path: Path) -> None:
    logged = tmp_path / "hall.csv"
    logged.write_text("time,temperature,humidity\n2026-01-01 00:00,21,50\n2026-01-01 01:00,21,51\n")
    told = stockyard(
        "--db", sqlite_path, "climate", "import", "hall", logged, "--zone", "Australia/Darwin"
    ).out
    assert "2026-01-01 00:00 to 2026-01-01 01:00" in " ".join(told.split())
    assert "2026-01-01" in stockyard("--db", sqlite_path, "climate", "show", "hall").out
