from pathlib import Path

import pytest

from stockyard.services.make_report import OF_A_DAY, OF_DAYS
from tests.cli.command import stockyard
from tests.cli.test_commands import db  # noqa: F401  the yard with one delivery


@pytest.mark.parametrize("name", [*OF_A_DAY, *OF_DAYS])
def test_every_report_fits_the_screen_and_answers_in_json(db: Path, name: str) -> None:  # noqa: F811
    stockyard("--db", db, "moisture", "add", "BB-0001", "12", "--meter", "ovendry")
    stockyard("--db", db, "defect", "add", "SG-0001", "--kind", "crack", "--face", "A", "--box", "1,1,90,5")
    out = stockyard("--db", db, "report", name).out
    assert [line for line in out.splitlines() if len(line.rstrip()) > 80] == []
    told = stockyard("--db", db, "report", name, "--json").json
    assert (told["report"], told["currency"]) == (name, "AUD")
    if name not in ("recovery", "offcuts"):
        assert told["rows"]


def test_a_report_is_written_as_files(db: Path, tmp_path: Path) -> None:  # noqa: F811
    files = [tmp_path / f"stock.{form}" for form in ("csv", "xlsx", "parquet")]
    options = [word for path in files for word in (f"--{path.suffix[1:]}", str(path))]
    out = stockyard("--db", db, "report", "stock", *options).out
    assert out.count("5 rows") == 3
    assert files[0].read_text().count("\n") == 6
    assert [path.read_bytes()[:4] for path in files[1:]] == [b"PK\x03\x04", b"PAR1"]
    stockyard("--db", db, "report", "stock", "--csv", tmp_path / "stock.csv" / "x.csv", code=2)


def test_days_are_refused_where_they_mean_nothing(db: Path) -> None:  # noqa: F811
    assert "--as-of" in stockyard("--db", db, "report", "stock", "--from", "2026-01-01", code=2).err
    assert "journal" in stockyard("--db", db, "report", "ledger", code=2).err


def test_a_chart_is_drawn_beside_the_table_and_another_ending_refused(db: Path, tmp_path: Path) -> None:  # noqa: F811
    for ending, begins in (("svg", b"<?xml"), ("png", b"\x89PNG")):
        chart = tmp_path / f"worth.{ending}"
        told = stockyard("--db", db, "report", "worth", "--chart", chart).out
        assert "its chart in" in " ".join(told.split())
        assert chart.read_bytes().startswith(begins)
    assert (
        ".svg or .png" in stockyard("--db", db, "report", "worth", "--chart", tmp_path / "w.pdf", code=2).err
    )
    assert (
        "has no chart"
        in stockyard("--db", db, "report", "journal", "--chart", tmp_path / "j.svg", code=2).err
    )
