"""Reports as files: CSV for any programme, XLSX for a person, Parquet for an analysis."""

import csv
import io
import re
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from stockyard.errors import MissingPart
from stockyard.measures.money import minor_digits
from stockyard.reports.report import Column, Report, Unit

FORMULA = re.compile(r"^[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
"""How a text begins that a spreadsheet may take for a formula. Source: OWASP, CSV Injection; and, to be safe,
the full-width forms of the signs."""

_WIDEST = 40
_LONGEST = 32_767  # characters in a cell; ECMA-376 leaves it open, spreadsheets agree on this


def csv_of(report: Report) -> bytes:
    """The rows with a header of column names, in UTF-8, without the foot.

    A text that a spreadsheet would take for a formula gets an apostrophe in front.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(column.name for column in report.columns)
    for row in report.rows:
        writer.writerow(_plain(value) for value in row)
    return text.getvalue().encode()


def xlsx_of(report: Report) -> bytes:
    """A workbook: the table, its header held in view, its foot as formulas; and a sheet that says what it is.

    Numbers, money and days are cells of their kind; text is always text.
    """
    book = Workbook()
    sheet = book.active
    assert isinstance(sheet, Worksheet)
    sheet.title = report.name
    _fill(sheet, report)
    about = book.create_sheet("about")
    for line in (report.title, report.span, f"Money in {report.currency}", *report.notes):
        about.append([""])
        _write(about.cell(about.max_row, 1), line)
    about.column_dimensions["A"].width = 80
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def parquet_of(report: Report) -> bytes:
    """The rows as a Parquet file, exact figures as decimals. Raises MissingPart without PyArrow."""
    made = io.BytesIO()
    try:
        report.frame.to_parquet(made, index=False)
    except ImportError:
        raise MissingPart("Parquet needs PyArrow: pip install pyarrow.") from None
    return made.getvalue()


FORMATS: Mapping[str, Callable[[Report], bytes]] = {"csv": csv_of, "xlsx": xlsx_of, "parquet": parquet_of}
"""How a report is written, by the name of the format."""


def _fill(sheet: Worksheet, report: Report) -> None:
    bold = Font(bold=True)
    for place, column in enumerate(report.columns, 1):
        head = sheet.cell(1, place, column.title)
        head.font = bold
        head.alignment = Alignment(horizontal="left" if column.unit is Unit.TEXT else "right", wrap_text=True)
    widths = [max(9, len(column.title) + 2) for column in report.columns]
    rows = report.rows
    for number, row in enumerate(rows, 2):
        for place, (column, value) in enumerate(zip(report.columns, row, strict=True), 1):
            cell = sheet.cell(number, place)
            _write(cell, value)
            cell.number_format = _format(column, report.currency)
            widths[place - 1] = max(widths[place - 1], len(str("" if value is None else value)) + 2)
    last = len(rows) + 1
    if rows and any(column.total for column in report.columns):
        _write_foot(sheet, report, last)
    for place, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(place)].width = min(width, _WIDEST)
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(report.columns))}{last}"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"


def _write_foot(sheet: Worksheet, report: Report, last: int) -> None:
    letters = {column.name: get_column_letter(place) for place, column in enumerate(report.columns, 1)}
    foot = last + 1
    for place, column in enumerate(report.columns, 1):
        cell = sheet.cell(foot, place)
        cell.border, cell.font = Border(top=Side(style="thin")), Font(bold=True)
        cell.number_format = _format(column, report.currency)
        if column.total:
            cell.value = f"=SUM({letters[column.name]}2:{letters[column.name]}{last})"
        elif column.share is not None:
            part, whole = (f"{letters[name]}{foot}" for name in column.share)
            cell.value = f'=IF({whole}=0,"",100*{part}/{whole})'
        elif place == 1:
            cell.value = "total"


def _write(cell: Cell, value: object) -> None:
    if isinstance(value, str):
        cell.value = ILLEGAL_CHARACTERS_RE.sub("", value)[:_LONGEST]
        # Whatever it looks like, it is text; and stays so when someone edits the cell.
        cell.data_type = "s"
        cell.quotePrefix = bool(FORMULA.match(value))
    elif isinstance(value, Decimal | int | float | date):
        cell.value = value


def _format(column: Column, currency: str) -> str:
    digits = minor_digits(currency)
    return {
        Unit.TEXT: "@",
        Unit.DAY: "yyyy-mm-dd",
        Unit.COUNT: "0",
        Unit.MM: "0.#",
        Unit.M3: "0.0000",
        Unit.PERCENT: "0.0",
        Unit.MONEY: "#,##0" + ("." + "0" * digits if digits else ""),
    }[column.unit]


def _plain(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str) and FORMULA.match(value):
        return f"'{value}"
    if isinstance(value, Decimal):
        return f"{value:f}"
    return str(value)
