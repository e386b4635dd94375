"""How fast a tally of 10,000 rows is received, against reading it with pandas and a bare bulk insert.

python -m tests.figures.receive
"""

import io
import sqlite3
import tempfile
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter

import pandas as pd

from stockyard.services.receive_delivery import Order, receive_delivery
from stockyard.settings import open_work_on
from tests.figures.record import record

ROWS = 10_000
ROUNDS = 5


def main() -> None:
    """Measure and record."""
    sheet = "Species,Length (mm),Width (mm),Thickness (mm),Price each\n" + "".join(
        f"Blackbutt,{2400 + n % 600},{120 + n % 90},25,{20 + n % 17}.{n % 90 + 10}\n" for n in range(ROWS)
    )
    ratios = [_ours(sheet, n) / _bare(sheet) for n in range(ROUNDS)]
    record(
        "receive",
        f"{ROWS} rows of CSV",
        median(ratios),
        "x",
        baseline="pandas.read_csv and a bulk insert into SQLite",
        note="aim 6 at most; every piece numbered, costed, moved and provenance kept",
    )


def _ours(sheet: str, number: int) -> float:
    with tempfile.TemporaryDirectory() as folder:
        open_work = open_work_on(Path(folder) / "yard.db")
        order = Order("Riverbend Mill", str(number), date(2026, 1, 5), tax=None)
        began = perf_counter()
        receive_delivery(open_work, sheet.encode(), "tally.csv", order)
        return perf_counter() - began


def _bare(sheet: str) -> float:
    with tempfile.TemporaryDirectory() as folder:
        connection = sqlite3.connect(Path(folder) / "bare.db")
        began = perf_counter()
        frame = pd.read_csv(io.StringIO(sheet))
        frame.to_sql("piece", connection, index=False)
        connection.commit()
        spent = perf_counter() - began
        connection.close()
        return spent


if __name__ == "__main__":
    main()
