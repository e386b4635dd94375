"""Reads the published tables that lie beside the tests.

Each is a CSV in a room's `tables` folder whose first lines, marked #, name document, edition and table.
"""

import csv
from pathlib import Path


def published(room: str, name: str) -> list[dict[str, str]]:
    """The rows of tests/<room>/tables/<name>; a blank cell is no data."""
    lines = (Path(__file__).parent / room / "tables" / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# "), f"{name} does not name its source"
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert rows, f"{name} is empty"
    return rows
