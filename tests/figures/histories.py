"""Random histories of a yard until so many movements were booked, each held to the plain model at every step.

python -m tests.figures.histories 10000
"""

import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from stockyard.records import upgrade
from tests.figures.record import record
from tests.services.test_histories import History, test_on_hand_worth_and_journal_agree_with_a_plain_model

AT_ONCE = 50


def main(wanted: int) -> None:
    """Run and record how many there were; a history that disagrees ends it with what led there."""
    os.environ["STOCKYARD_HISTORIES"] = str(AT_ONCE)
    began, histories = perf_counter(), 0
    with tempfile.TemporaryDirectory() as folder:
        template = Path(folder) / "yard.db"
        upgrade(template)
        while History.movements < wanted:
            test_on_hand_worth_and_journal_agree_with_a_plain_model(template)
            histories += AT_ONCE
            print(f"{History.movements:,} movements, {perf_counter() - began:.0f} s", flush=True)
    note = "on hand, worth, journal, consumables and all proofs at every step, every evening again"
    record("histories", f"{histories} histories", History.movements, "movements", note=note)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
