"""How fast the command line answers, against the bare imports it stands on.

python -m tests.figures.start_up
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

from tests.figures.record import record

ROUNDS = 15


def main() -> None:
    """Measure and record; the two of each pair run in turn, so that a busy moment strikes both."""
    command = str(Path(sys.executable).with_name("stockyard"))
    with tempfile.TemporaryDirectory() as folder:
        db = str(Path(folder) / "yard.db")
        subprocess.run([command, "--db", db, "boards"], check=True, capture_output=True)
        for what, asked, module, most in (
            ("stockyard --help", [command, "--help"], "typer", 2),
            ("stockyard boards", [command, "--db", db, "boards"], "sqlalchemy", 3),
        ):
            bare = [sys.executable, "-c", f"import {module}"]
            pairs = [(_seconds(asked), _seconds(bare)) for _ in range(ROUNDS)]
            ratio = median(ours / theirs for ours, theirs in pairs)
            record(what, "an empty yard", ratio, "x", baseline=f"import {module}", note=f"aim {most} at most")


def _seconds(command: list[str]) -> float:
    began = perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return perf_counter() - began


if __name__ == "__main__":
    main()
