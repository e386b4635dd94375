"""Appends one measured figure to figures.csv. Rows are never edited; a correction is a new row."""

import csv
import os
import platform
import subprocess
from datetime import UTC, datetime
from pathlib import Path

FIGURES = Path(__file__).parent / "figures.csv"
COLUMNS = (
    "date",
    "commit",
    "what",
    "group",
    "value",
    "unit",
    "baseline",
    "seeds",
    "machine",
    "cores",
    "note",
)


def record(
    what: str, group: str, value: float, unit: str, *, baseline: str = "", seeds: str = "", note: str = ""
) -> None:
    """Append a row and print it.

    what: the thing measured; group: on which input. unit: "x" for a ratio, and then baseline says of what,
    measured in the same run.
    """
    new = not FIGURES.exists()
    row = (
        datetime.now(UTC).strftime("%Y-%m-%d"),
        _commit(),
        what,
        group,
        f"{value:.4g}",
        unit,
        baseline,
        seeds,
        f"{platform.machine()} {_processor()}",
        os.cpu_count(),
        note,
    )
    with FIGURES.open("a", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        if new:
            writer.writerow(COLUMNS)
        writer.writerow(row)
    print(f"{what} | {group} | {value:.4g} {unit}" + (f" of {baseline}" if baseline else ""))


def _commit() -> str:
    done = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"],
        cwd=FIGURES.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout.strip()


def _processor() -> str:
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        for line in cpuinfo.read_text().splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor()
