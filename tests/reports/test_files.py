"""Files are read back by other libraries than the ones that wrote them."""

import csv
import io
import sys
import zipfile
from datetime import date
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pandas as pd
import pyarrow.parquet
import pytest
from python_calamine import CalamineWorkbook

from stockyard.errors import MissingPart
from stockyard.reports.files import csv_of, parquet_of, xlsx_of
from stockyard.reports.report import Column, Report, Unit, framed

SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
COLUMNS = (
    Column("board", "board"),
    Column("day", "day", Unit.DAY),
    Column("pieces", "pieces", Unit.COUNT, total=True),
    Column("length_mm", "length, mm", Unit.MM),
    Column("cut_m3", "cut m3", Unit.M3, total=True),
    Column("waste_m3", "waste m3", Unit.M3, total=True),
    Column("waste_pct", "waste %", Unit.PERCENT, share=("waste_m3", "cut_m3")),
    Column("worth", "worth", Unit.MONEY, total=True),
)
ROWS = (
    (
        "SG-0001",
        date(2026, 3, 2),
        1,
        2400.0,
        Decimal("0.01"),
        Decimal("0.001"),
        Decimal("10.0"),
        Decimal("1048.10"),
    ),
    ("größer", date(2024, 2, 29), 3, 177.8, Decimal("0.03"), Decimal("0.003"), None, Decimal("-0.05")),
)


def report(rows: Any = ROWS, currency: str = "AUD") -> Report:
    return Report("stock", "Stock", "today", currency, COLUMNS, framed(COLUMNS, rows), ("A note.",))


def opened(content: bytes) -> CalamineWorkbook:
    return CalamineWorkbook.from_filelike(io.BytesIO(content))


def part(content: bytes, name: str) -> ElementTree.Element:
    return ElementTree.fromstring(zipfile.ZipFile(io.BytesIO(content)).read(name))


def test_a_workbook_holds_numbers_money_days_and_text_as_what_they_are() -> None:
    book = opened(xlsx_of(report()))

    head, first, second, _ = book.get_sheet_by_name("stock").to_python()

    assert head == [column.title for column in COLUMNS]
    assert first == ["SG-0001", date(2026, 3, 2), 1.0, 2400.0, 0.01, 0.001, 10.0, 1048.1]
    assert second == ["größer", date(2024, 2, 29), 3.0, 177.8, 0.03, 0.003, "", -0.05]
    assert book.get_sheet_by_name("about").to_python() == [
        ["Stock"],
        ["today"],
        ["Money in AUD"],
        ["A note."],
    ]


def test_the_foot_is_formulas_over_the_rows_above_it() -> None:
    sheet = part(xlsx_of(report()), "xl/worksheets/sheet1.xml")
    formulas = {
        cell.get("r"): formula.text
        for cell in sheet.iter(f"{SHEET}c")
        if (formula := cell.find(f"{SHEET}f")) is not None
    }

    assert formulas == {
        "C4": "SUM(C2:C3)",
        "E4": "SUM(E2:E3)",
        "F4": "SUM(F2:F3)",
        "G4": 'IF(E4=0,"",100*F4/E4)',
        "H4": "SUM(H2:H3)",
    }


def test_the_header_is_held_in_view_and_columns_are_wide_enough_for_what_is_in_them() -> None:
    sheet = part(xlsx_of(report()), "xl/worksheets/sheet1.xml")

    pane = next(sheet.iter(f"{SHEET}pane"))
    widths = [float(column.get("width", 0)) for column in sheet.iter(f"{SHEET}col")]

    assert (pane.get("state"), pane.get("ySplit"), pane.get("topLeftCell")) == ("frozen", "1", "A2")
    assert len(widths) == len(COLUMNS)
    assert widths[1] >= len("2026-03-02")


@pytest.mark.parametrize(("currency", "form"), [("AUD", "#,##0.00"), ("JPY", "#,##0"), ("KWD", "#,##0.000")])
def test_money_is_shown_with_the_decimals_of_its_currency(currency: str, form: str) -> None:
    styles = part(xlsx_of(report(currency=currency)), "xl/styles.xml")
    own = {each.get("formatCode") for each in styles.iter(f"{SHEET}numFmt")}
    built_in = {"AUD": "4", "JPY": "3"}.get(currency)  # ECMA-376 part 1, 18.8.30

    used = {each.get("numFmtId") for each in styles.iter(f"{SHEET}xf")}
    assert form in own or built_in in used


@pytest.mark.parametrize(
    "text", ["=1+1", "+61 7", "-rack", "@SUM(A1)", "\tx", "\nx", "\uff1d1", '=HYPERLINK("http://x")']
)
def test_text_that_looks_like_a_formula_stays_text(text: str) -> None:
    """The dangerous beginnings are those of OWASP, CSV Injection."""
    made = report([(text, *ROWS[0][1:])])
    book = xlsx_of(made)

    sheet = part(book, "xl/worksheets/sheet1.xml")
    cell = next(cell for cell in sheet.iter(f"{SHEET}c") if cell.get("r") == "A2")
    assert cell.find(f"{SHEET}f") is None
    assert opened(book).get_sheet_by_name("stock").to_python()[1][0] == text
    row = list(csv.reader(io.StringIO(csv_of(made).decode())))[1]
    assert row[0] == f"'{text}"
    assert row[-1] == "1048.10"


def test_control_characters_do_not_spoil_a_workbook() -> None:
    made = report([("a\x00b\x1b", *ROWS[0][1:])])
    assert opened(xlsx_of(made)).get_sheet_by_name("stock").to_python()[1][0] == "ab"


def test_csv_reads_back_exactly() -> None:
    head, *rows = csv.reader(io.StringIO(csv_of(report()).decode()))

    assert head == [column.name for column in COLUMNS]
    assert rows[0] == ["SG-0001", "2026-03-02", "1", "2400.0", "0.01", "0.001", "10.0", "1048.10"]
    assert rows[1][6:] == ["", "-0.05"]


def test_parquet_keeps_exact_decimals_and_days() -> None:
    table = pyarrow.parquet.read_table(io.BytesIO(parquet_of(report()))).to_pylist()

    assert [tuple(row.values()) for row in table] == list(ROWS)


def test_parquet_without_its_library_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    made = report()
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(MissingPart, match="pip install pyarrow"):
        parquet_of(made)


def test_an_empty_report_is_a_file_with_a_header_and_no_foot() -> None:
    empty = report([])

    assert opened(xlsx_of(empty)).get_sheet_by_name("stock").to_python() == [
        [column.title for column in COLUMNS]
    ]
    assert csv_of(empty).decode() == ",".join(column.name for column in COLUMNS) + "\n"
    assert list(pd.read_parquet(io.BytesIO(parquet_of(empty))).columns) == [column.name for column in COLUMNS]
