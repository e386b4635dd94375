"""How far the search for clear cuttings proves what it finds, and what it costs against trying every cut.

On small grids it is set beside an exhaustive search that shares nothing with it (and must agree on every
board). On boards of the trade's size, in eighths of an inch, with the least sizes of the NHLA grades, no
exhaustive search ends; there it is recorded on how many boards it knows whether the grade's yield can be had,
which is what grading asks, and on how many the greatest yield is proved.

python -m tests.figures.cuttings
"""

import random
from statistics import mean
from time import perf_counter

from stockyard.grading.cuttings import LeastSize, largest_cuttings
from tests.figures.record import record
from tests.grading.test_cuttings import a_small_board, by_every_cut

SMALL = range(10_000, 10_400)
BOARDS, BOARDS_PROVED = 40, 12
EIGHTHS_IN_A_FOOT = 96
BOARD = (0, 0, 12 * EIGHTHS_IN_A_FOOT, 64)
UNIT = 12 * 64
"""A cutting unit, 12 square inches, in square eighths."""
GRADES = {
    "FAS": ((LeastSize(5 * 96, 4 * 8), LeastSize(7 * 96, 3 * 8)), 2, 80),
    "No. 1 Common": ((LeastSize(2 * 96, 4 * 8), LeastSize(3 * 96, 3 * 8)), 3, 64),
    "No. 2A Common": ((LeastSize(2 * 96, 3 * 8),), 4, 48),
}
"""Least cuttings by grade; how many cuttings and units of them a board of 8 surface feet allows and needs."""


def main() -> None:
    """Measure and record."""
    ours = theirs = 0.0
    for seed in SMALL:
        length, width, defects, least, most = a_small_board(seed)
        began = perf_counter()
        found = largest_cuttings((0, 0, length, width), defects, least, most)
        between = perf_counter()
        best = by_every_cut(length, width, defects, least, most)
        theirs += perf_counter() - between
        ours += between - began
        if (found.area, found.proved) != (best, True):
            raise SystemExit(f"seed {seed}: {found.area} found, {best} there")
    group = f"{len(SMALL)} grids of up to 12 x 6"
    seeds = f"{SMALL.start} to {SMALL.stop - 1}"
    record("clear cuttings", group, ours / theirs, "x", baseline="every cut of every piece", seeds=seeds,
           note="the same yield on every one")  # fmt: skip
    for flaws in (2, 5, 10, 15, 20):
        for grade, (least_sizes, most, units) in GRADES.items():
            boards = [_flaws(seed, flaws) for seed in range(500, 500 + BOARDS)]
            decided = [
                largest_cuttings(BOARD, some, least_sizes, most, enough=units * UNIT) for some in boards
            ]
            share = mean(found.area >= units * UNIT or found.at_most < units * UNIT for found in decided)
            record("grade yields decided", f"8 in x 12 ft, {flaws} flaws, {grade}", 100 * share, "%",
                   seeds=f"500 to {499 + BOARDS}")  # fmt: skip
            if flaws > 10:
                continue
            fewer = boards[:BOARDS_PROVED]
            best = [largest_cuttings(BOARD, some, least_sizes, most) for some in fewer]
            gap = mean(found.at_most / found.area - 1 if found.area else 0 for found in best)
            record("clear cuttings proved best", f"8 in x 12 ft, {flaws} flaws, {grade}",
                   100 * mean(found.proved for found in best), "%", seeds=f"500 to {499 + BOARDS_PROVED}",
                   note=f"mean gap of the bound {100 * gap:.2g} %")  # fmt: skip


def _flaws(seed: int, count: int) -> list[tuple[int, int, int, int]]:
    """Knots and checks of 1/4 to 3 in along and 1/4 to 1 1/2 in across, anywhere on the board."""
    draw = random.Random(f"{seed} {count}")
    found = []
    for _ in range(count):
        x, y = draw.randrange(12 * EIGHTHS_IN_A_FOOT), draw.randrange(64)
        found.append((x, y, x + draw.randint(2, 24), y + draw.randint(2, 12)))
    return found


if __name__ == "__main__":
    main()
