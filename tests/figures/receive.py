"""How fast a tally of 10,000 rows is received, against reading it with pandas and a bare bulk insert.

Two bulk inserts are compared with: the sheet's own five columns into a table without keys, and the rows that
a receipt comes to (numbered pieces, movement lines, supplier and docket) into the yard's own tables, with
their keys, indexes and checks, handed over ready-made.

python -m tests.figures.receive
"""

import gc
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
ROUNDS = 7
FILLED = (
    "supplier",
    "species",
    "running_count",
    "delivery",
    "piece",
    "movement",
    "movement_line",
    "moisture_reading",
)
"""The tables that a receipt writes to, in the order in which they refer to each other."""


def main() -> None:
    """Measure and record; all three run in turn, so that a busy moment strikes them alike."""
    sheet = "Species,Length (mm),Width (mm),Thickness (mm),Price each\n" + "".join(
        f"Blackbutt,{2400 + n % 600},{120 + n % 90},25,{20 + n % 17}.{n % 90 + 10}\n" for n in range(ROWS)
    )
    with tempfile.TemporaryDirectory() as folder:
        empty, received = Path(folder) / "empty.db", Path(folder) / "received.db"
        open_work_on(empty)
        _received(sheet, received)
        rounds = []
        for number in range(ROUNDS):
            gc.collect()
            ours = _received(sheet, Path(folder) / f"ours-{number}.db")
            bare = _bare(sheet, Path(folder) / f"bare-{number}.db")
            ready = _ready_made(sheet, received, empty, Path(folder) / f"ready-{number}.db")
            rounds.append((ours / bare, ours / ready))
    note = "every piece numbered, costed, moved and provenance kept"
    for place, baseline, aim in (
        (0, "pandas.read_csv and its five columns in a bare table", "aim 6 at most"),
        (1, "pandas.read_csv and the receipt's rows bulk-inserted in the yard's tables", "aim 6 at most"),
    ):
        ratio = median(each[place] for each in rounds)
        record("receive", f"{ROWS} rows of CSV", ratio, "x", baseline=baseline, note=f"{aim}; {note}")


def _received(sheet: str, path: Path) -> float:
    open_work = open_work_on(path)
    order = Order("Riverbend Mill", "20418", date(2026, 1, 5), tax=None)
    began = perf_counter()
    receive_delivery(open_work, sheet.encode(), "tally.csv", order)
    return perf_counter() - began


def _bare(sheet: str, path: Path) -> float:
    connection = sqlite3.connect(path)
    began = perf_counter()
    frame = pd.read_csv(io.StringIO(sheet))
    frame.to_sql("piece", connection, index=False)
    connection.commit()
    spent = perf_counter() - began
    connection.close()
    return spent


def _ready_made(sheet: str, received: Path, empty: Path, path: Path) -> float:
    """Read the sheet with pandas, and put the rows that a receipt of it wrote into a fresh yard."""
    path.write_bytes(empty.read_bytes())
    source, target = sqlite3.connect(received), sqlite3.connect(path)
    target.execute("PRAGMA foreign_keys = ON")
    rows = {table: source.execute(f"SELECT * FROM {table}").fetchall() for table in FILLED}
    began = perf_counter()
    pd.read_csv(io.StringIO(sheet))
    for table, some in rows.items():
        if some:
            marks = ", ".join("?" * len(some[0]))
            target.executemany(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", some)
    target.commit()
    spent = perf_counter() - began
    source.close()
    target.close()
    return spent


if __name__ == "__main__":
    main()
