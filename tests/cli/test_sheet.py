"""Paper from the command line: sheets and labels, as PDF or SVG, under the name asked for."""

from pathlib import Path

import pytest

from stockyard.records import open_yard
from tests.cli.command import stockyard
from tests.stocking import a_plan, keep_plan, receive


@pytest.fixture
def db(sqlite_path: Path) -> Path:
    """A yard with two boards and plan 1 of a panel from both."""
    with open_yard(sqlite_path) as yard, yard.open_work() as work:
        keep_plan(work, a_plan(receive(work, 2)))
        work.commit()
    return sqlite_path


@pytest.mark.parametrize(
    "words",
    [("sheet", "board", "SG-0001"), ("sheet", "plan", 1), ("sheet", "bench", 1), ("label", "SG-0001")],
    ids=lambda words: " ".join(map(str, words)),
)
def test_a_sheet_is_written_as_pdf_and_as_svg(db: Path, tmp_path: Path, words: tuple[object, ...]) -> None:
    pdf, svg = tmp_path / "on" / "paper.pdf", tmp_path / "paper.svg"
    told = stockyard("--db", db, *words, "--out", pdf).out
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert "Print at 100 %" in " ".join(told.split())
    files = stockyard("--db", db, *words, "--out", svg, "--json").json["files"]
    assert all("<svg" in Path(file).read_text() for file in files)


def test_without_a_name_the_file_is_named_after_what_it_shows(
    db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    stockyard("--db", db, "sheet", "bench", 1)
    assert (tmp_path / "bench-1.pdf").is_file()


def test_one_panel_comes_without_the_cut_maps(db: Path, tmp_path: Path) -> None:
    answer = stockyard(
        "--db", db, "sheet", "plan", 1, "--panel", "top", "--out", tmp_path / "top.svg", "--json"
    )
    assert answer.json["pages"] == 1
    assert "panel layout" in (tmp_path / "top.svg").read_text()


def test_prep_prints_what_it_tells(db: Path, tmp_path: Path) -> None:
    told = stockyard("--db", db, "prep", 1, "--out", tmp_path / "bench.pdf").out
    assert "bench.pdf" in told
    assert (tmp_path / "bench.pdf").read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("sheet", "board", "SG-0001", "--out", "x.doc"), "ends in .pdf or .svg"),
        (("sheet", "board", "SG-0009"), "SG-0009"),
        (("label",), "name boards, a docket or a place"),
        (("label", "SG-0001", "--size", "71x37"), "one of 70x37"),
        (("label", "SG-0001", "--skip", "24"), "0 to 23"),
    ],
)
def test_what_cannot_be_printed_is_said_in_a_sentence_and_nothing_is_written(
    db: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = stockyard("--db", db, *words, code=None)
    assert answer.code == 2
    assert said in " ".join(answer.err.split())
    assert {path.name for path in tmp_path.iterdir()} <= {"yard.db", "yard.db-wal", "yard.db-shm"}
