"""Feeds every parser spoiled documents, so many in all, and records how many tries and crashes there were.

python -m tests.figures.fuzz 1000000 1     # tries in all, seed
"""

import random
import sys
from itertools import cycle
from time import perf_counter

from tests.figures.record import record
from tests.fuzz.parsers import PARSERS, crash, spoiled

SLOWER = {"tally, text": 20, "tally, workbook": 40, "climate log": 20, "stock": 2, "job": 2, "picture": 4}
"""How many times less often a slow parser is fed than a quick one."""


def main(tries: int, seed: int) -> None:
    """Feed, print every crash with its document, and record the counts."""
    chance, crashes, slowest, began = random.Random(seed), 0, 0.0, perf_counter()
    for number, name in zip(range(tries), cycle(_turns()), strict=False):
        content = spoiled(PARSERS[name], chance)
        started = perf_counter()
        found = crash(PARSERS[name], content)
        slowest = max(slowest, perf_counter() - started)
        if found is not None:
            crashes += 1
            print(f"{number} {name}: {type(found).__name__}: {found} on {content[:400]!r}", flush=True)
    note = f"slowest try {slowest:.2f} s, {perf_counter() - began:.0f} s in all"
    record("parsers fed spoiled documents: tries", f"{len(PARSERS)} parsers", tries, "tries", seeds=str(seed))
    record("parsers fed spoiled documents: crashes", f"{tries} tries", crashes, "crashes", note=note)


def _turns() -> list[str]:
    turns = [name for name in PARSERS for _ in range(40 // SLOWER.get(name, 1))]
    random.Random(0).shuffle(turns)
    return turns


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
