"""Workbooks (.xlsx) read into sheets of cells: values as last computed, merged text spread over its cells."""

import io
import re
import warnings
import zipfile
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from stockyard.errors import BadInput
from stockyard.tally.archive import opened, refuse_entities
from stockyard.tally.sheet import Broken, Cell, Sheet, Uncomputed, check_size

MAX_SHEETS = 100
MAX_MERGED_CELLS = 200_000
MAX_BLANK_RUN = 1_000
LAST_ROW = 1_048_576

_ERRORS = frozenset(
    {"#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A", "#SPILL!", "#CALC!", "#GETTING_DATA"}
)
_MERGE = re.compile(rb"<(?:\w+:)?mergeCell\s[^>]*?ref=\"([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})\"")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")


def workbook_sheets(content: bytes, name: str, wanted: str | None = None) -> list[Sheet]:
    """Every sheet of a workbook that holds cells, or only the one `wanted`.

    Raises BadInput when the file is broken, locked, a trap, too big, or has no such sheet.
    """
    archive = opened(content, name)
    refuse_entities(archive, name)
    try:
        with warnings.catch_warnings():
            # openpyxl warns of styles and validations it will not keep; nothing is written back here.
            warnings.simplefilter("ignore")
            return _sheets(content, archive, name, wanted)
    except BadInput:
        raise
    except Exception as error:
        # A damaged workbook comes out of openpyxl as any of a dozen kinds of exception.
        raise BadInput(
            f"{name} cannot be read as a workbook ({type(error).__name__}); save it again as .xlsx or CSV."
        ) from error


def _sheets(content: bytes, archive: zipfile.ZipFile, name: str, wanted: str | None) -> list[Sheet]:
    # Loaded here: most tallies are text files, and `import stockyard.tally` stays light.
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
    names = [sheet.title for sheet in book.worksheets]
    if len(names) > MAX_SHEETS:
        raise BadInput(f"{name} has more than {MAX_SHEETS} sheets; keep the tally's alone.")
    if wanted is not None:
        if wanted not in names:
            raise BadInput(f"{name} has no sheet {wanted!r}; it has {', '.join(names)}.")
        names = [wanted]
    formulas = None
    sheets = []
    for title in names:
        values = book[title]
        xml = archive.read(values._worksheet_path)
        sheet = Sheet(title, _rows(values, name))
        if _FORMULA.search(xml):
            formulas = formulas or load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
            _mark_uncomputed(sheet, formulas[title], name)
        _spread_merged(sheet, xml)
        if any(cell != "" for _, row in sheet.rows for cell in row):
            sheets.append(sheet)
    if not sheets:
        raise BadInput(f"{name} has no cells in it.")
    return sheets


def _rows(worksheet: Any, name: str) -> list[tuple[int, tuple[Cell, ...]]]:
    """The rows that hold something, with their numbers."""
    # The size a sheet declares is often wrong and sometimes a trap: rows are read as they come.
    worksheet.reset_dimensions()
    rows: list[tuple[int, tuple[Cell, ...]]] = []
    blank: list[int] = []
    cells = 0
    for number, row in enumerate(worksheet.iter_rows(min_row=1, min_col=1, values_only=True), 1):
        if number > LAST_ROW:
            raise BadInput(f"{name} has a cell below row {LAST_ROW:,}, where no spreadsheet reaches.")
        used = len(row)
        while used and row[used - 1] is None:
            used -= 1
        if not used:
            # Columns formatted to the very bottom are common: only blanks between rows are kept.
            blank.append(number)
            continue
        if len(blank) <= MAX_BLANK_RUN:
            rows += [(each, ()) for each in blank]
        blank = []
        cells += used
        check_size(len(rows) + 1, used, cells, name)
        rows.append((number, tuple([_cell(value) for value in row[:used]])))
    return rows


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, str):
        text = value.strip()
        return Broken(text) if text in _ERRORS else text
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return Decimal(value)
    if isinstance(value, float):
        # A spreadsheet keeps 15 figures: 0.1 + 0.2 is 0.3 to whoever wrote it.
        return Decimal(f"{value:.15g}") if abs(value) < 1e15 else Broken(str(value))
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, time | timedelta):
        return Broken(f"a time of day, {value}")
    return str(value)


def _mark_uncomputed(sheet: Sheet, formulas: Any, name: str) -> None:
    """Put `Uncomputed` where there is a formula and no value."""
    formulas.reset_dimensions()
    by_number = {number: index for index, (number, _) in enumerate(sheet.rows)}
    for number, row in enumerate(formulas.iter_rows(min_row=1, min_col=1, values_only=True), 1):
        wanting = {
            column: value if isinstance(value, str) else "(of an array)"
            for column, value in enumerate(row)
            if (isinstance(value, str) and value.startswith("=")) or type(value).__name__ == "ArrayFormula"
        }
        if not wanting:
            continue
        check_size(len(by_number), max(wanting) + 1, 0, name)
        if number not in by_number:
            by_number[number] = len(sheet.rows)
            sheet.rows.append((number, ()))
        widened = list(sheet.rows[by_number[number]][1])
        widened += [""] * (max(wanting) + 1 - len(widened))
        for column, formula in wanting.items():
            if widened[column] == "":
                widened[column] = Uncomputed(formula)
        sheet.rows[by_number[number]] = (number, tuple(widened))
    sheet.rows.sort(key=lambda row: row[0])


def _spread_merged(sheet: Sheet, xml: bytes) -> None:
    """Give every cell of a merged area the text of its first.

    Numbers stay where they are, or they would be counted twice.
    """
    by_number = {number: index for index, (number, _) in enumerate(sheet.rows)}
    spread = 0
    for merge in _MERGE.finditer(xml):
        left, right = _column(merge[1]), _column(merge[3])
        top, bottom = int(merge[2]), int(merge[4])
        if top not in by_number:
            continue
        first = sheet.rows[by_number[top]][1]
        text = first[left] if left < len(first) else ""
        if not isinstance(text, str) or text == "":
            continue
        check_size(1, right + 1, 0, f"Sheet {sheet.name}")
        for number in range(top, min(bottom, sheet.rows[-1][0]) + 1):
            spread += right - left + 1
            if spread > MAX_MERGED_CELLS:
                raise BadInput(
                    f"Sheet {sheet.name} has more than {MAX_MERGED_CELLS:,} merged cells; unmerge them."
                )
            if number not in by_number:
                continue
            index = by_number[number]
            cells = list(sheet.rows[index][1])
            cells += [""] * (right + 1 - len(cells))
            for column in range(left, right + 1):
                if cells[column] == "":
                    cells[column] = text
            sheet.rows[index] = (number, tuple(cells))


def _column(letters: bytes) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + letter - ord("A") + 1
    return index - 1
