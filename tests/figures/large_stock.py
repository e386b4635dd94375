"""How fast a large stock is valued and its rack searched, against the bare SQL on the same tables.

python -m tests.figures.large_stock 1000000
"""

import json
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from time import perf_counter

from stockyard.services.list_boards import list_boards
from stockyard.services.stock_worth import stock_worth, worth_lines
from stockyard.settings import open_work_on
from stockyard.timber.rack_query import RackQuery
from tests.figures.record import record

ROUNDS = 5
PARTICULARS = json.dumps({"origin": "", "group_of": [], "note": "", "figures": []})
SPECIES, PLACES, THICKNESSES = 12, 40, (25, 32, 38, 50)
FIRST = date(2024, 1, 1)
DAYS = 700


def main(pieces: int) -> None:
    """Make the yard, measure in turn, record."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "yard.db"
        open_work = open_work_on(path)
        fill(path, pieces)
        bare = sqlite3.connect(path)
        day = FIRST + timedelta(days=DAYS // 2)
        stood = "SELECT sum(value) FROM piece WHERE on_hand = 1"
        then = f"SELECT sum(value) FROM movement_line WHERE account = 'stock' AND effective <= '{day}'"
        kinds = (
            "SELECT s.name, p.thickness_mm, count(*), sum(p.value) FROM piece p JOIN species s"
            " ON s.id = p.species_id WHERE p.on_hand = 1 GROUP BY 1, 2"
        )
        rack = (
            "SELECT p.*, s.name FROM piece p JOIN species s ON s.id = p.species_id WHERE p.on_hand = 1"
            " AND s.name = 'wood 3' AND p.thickness_mm >= 32 AND p.thickness_mm <= 32 AND p.place = 'rack 7'"
            " AND p.width_mm >= 200 ORDER BY p.number"
        )
        query = RackQuery(
            species=("wood 3",),
            thickness_at_least_mm=32,
            thickness_at_most_mm=32,
            place="rack 7",
            width_at_least_mm=200,
        )
        found = len(list_boards(open_work, query))
        assert found == len(bare.execute(rack).fetchall())
        size, by = f"{pieces:,} pieces", ("species", "thickness")
        for what, ours, sql in (
            ("valuation", lambda: stock_worth(open_work), stood),
            ("valuation on a day gone by", lambda: stock_worth(open_work, day), then),
            (
                "worth by species and thickness",
                lambda: worth_lines(open_work, by),
                kinds,
            ),
            (f"rack query, {found} found", lambda: list_boards(open_work, query), rack),
        ):
            ratio = _ratio(ours, partial(_asked, bare, sql))
            record(what, size, ratio, "x", baseline="the bare SQL", note="SQLite; aim 3 at most")
        bare.close()


def _asked(bare: sqlite3.Connection, sql: str) -> list[object]:
    return bare.execute(sql).fetchall()


def _ratio(ours: Callable[[], object], theirs: Callable[[], object]) -> float:
    ours(), theirs()
    return median(_seconds(ours) / _seconds(theirs) for _ in range(ROUNDS))


def _seconds(act: Callable[[], object]) -> float:
    began = perf_counter()
    act()
    return perf_counter() - began


def fill(path: Path, pieces: int) -> None:
    """Boards that came over two years in dockets of a hundred, one in four of them gone again."""
    connection = sqlite3.connect(path)
    connection.executescript("PRAGMA synchronous = OFF; PRAGMA foreign_keys = OFF;")
    at = datetime(2026, 1, 1, tzinfo=UTC).replace(tzinfo=None).isoformat(sep=" ")
    _put(
        connection,
        "species",
        ({"id": n, "name": f"wood {n}", "prefix": f"W{n}", "botanical": "[]", "aliases": "[]",
          "particulars": PARTICULARS} for n in range(1, SPECIES + 1)),
    )  # fmt: skip
    _put(connection, "supplier", iter([{"id": 1, "name": "Riverbend Mill", "particulars": "{}", "note": ""}]))
    dockets = pieces // 100 + 1
    days = [(FIRST + timedelta(days=n * DAYS // dockets)).isoformat() for n in range(dockets)]
    signed = {"at": at, "who": "a figure"}
    _put(
        connection,
        "delivery",
        ({"id": n + 1, "supplier_id": 1, "docket": str(n), "attempt": 1, "received_on": days[n],
          "currency": "AUD", "measure": "net", "goods": 0, "charges": "{}", "tax": 0, "total": 0,
          "provenance": "{}", "source_file": "", "source_sha256": "", **signed} for n in range(dockets)),
    )  # fmt: skip
    _put(
        connection,
        "movement",
        ({"id": n + 1, "kind": "receive", "effective": days[n], "cause": "", "delivery_id": n + 1, **signed}
         for n in range(dockets)),
    )  # fmt: skip
    _put(
        connection,
        "piece",
        ({"id": n + 1, "number": f"W{n % SPECIES + 1}-{n:07}", "kind": "board",
          "species_id": n % SPECIES + 1, "length_mm": 1800.0 + n % 1500, "width_mm": 90.0 + n % 211,
          "thickness_mm": float(THICKNESSES[n // SPECIES % 4]),
          "bow_mm": 0.0, "spring_mm": 0.0, "cup_mm": 0.0, "twist_mm": 0.0,
          "place": f"rack {n // 48 % PLACES}", "note": "", "delivery_id": n // 100 + 1,
          "delivery_row": n % 100 + 1, "version": 1, "on_hand": int(n % 4 != 3),
          "value": (20_000 + n % 9_000) * 10 if n % 4 != 3 else 0,
          "volume_mm3": 10_000_000 if n % 4 != 3 else 0, **signed} for n in range(pieces)),
    )  # fmt: skip
    _put(
        connection,
        "movement_line",
        ({"movement_id": n // 100 + 1, "effective": days[n // 100], "account": "stock", "piece_id": n + 1,
          "on_hand": 1, "promised": 0, "value": (20_000 + n % 9_000) * 10, "volume_mm3": 10_000_000}
         for n in range(pieces)),
    )  # fmt: skip
    connection.commit()
    connection.close()


def _put(connection: sqlite3.Connection, table: str, rows: Iterator[dict[str, object]]) -> None:
    first = next(rows)
    names = ", ".join(first)
    marks = ", ".join("?" * len(first))
    statement = f"INSERT INTO {table} ({names}) VALUES ({marks})"
    connection.execute(statement, tuple(first.values()))
    connection.executemany(statement, (tuple(row.values()) for row in rows))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
