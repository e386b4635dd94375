"""Workbooks as LibreOffice opens and reckons them: it shares nothing with the library that wrote them."""

import subprocess
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from stockyard.reports.files import xlsx_of
from stockyard.reports.flow import journal_report
from stockyard.reports.report import Report
from tests.reports.test_charts import BOUGHT, CUT, FIRST, LAST, REPORTS
from tests.reports.test_files import ROWS
from tests.reports.test_files import report as small_report

WRITTEN: dict[str, Report] = {
    **REPORTS,
    "journal": journal_report([BOUGHT, CUT], FIRST, LAST, "AUD"),
    "stock": small_report([("=1+1", *ROWS[0][1:]), *ROWS]),
}


@pytest.fixture(scope="module")
def reckoned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every report, opened and saved again by LibreOffice, which has to reckon the formulas to do so."""
    folder = tmp_path_factory.mktemp("workbooks")
    for name, report in WRITTEN.items():
        (folder / f"{name}.xlsx").write_bytes(xlsx_of(report))
    done = subprocess.run(
        [
            "soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--convert-to", "xlsx",
            "--outdir", str(folder / "again"), *(str(folder / f"{name}.xlsx") for name in WRITTEN),
        ],
        capture_output=True, text=True, check=False, timeout=240,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder / "again"


@pytest.mark.parametrize("name", sorted(WRITTEN))
def test_every_total_is_reckoned_as_the_report_has_it(reckoned: Path, name: str) -> None:
    report = WRITTEN[name]
    rows = CalamineWorkbook.from_path(reckoned / f"{name}.xlsx").get_sheet_by_name(name).to_python()
    foot = dict(zip((column.name for column in report.columns), rows[-1], strict=True))

    for column, value in report.foot.items():
        assert foot[column] == pytest.approx(float(str(value)), abs=0.051 if column.endswith("pct") else 1e-9)
    assert len(rows) == 1 + len(report.rows) + bool(report.foot)


def test_days_numbers_and_text_stay_what_they_are(reckoned: Path) -> None:
    _, first, second, *_ = (
        CalamineWorkbook.from_path(reckoned / "stock.xlsx").get_sheet_by_name("stock").to_python()
    )

    assert first[0] == "=1+1"
    assert second[1] == date(2026, 3, 2)
    assert second[-1] == 1048.10


def test_columns_keep_their_formats_and_widths(reckoned: Path) -> None:
    sheet = openpyxl.load_workbook(reckoned / "stock.xlsx")["stock"]

    assert sheet["H2"].number_format == "#,##0.00"
    assert sheet["B2"].number_format.lower() == "yyyy\\-mm\\-dd"
    assert sheet.column_dimensions["A"].width >= 8
