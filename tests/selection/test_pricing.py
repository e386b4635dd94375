"""Pricing one board, against the exact best of public instances of cutting plates with defects.

The instances are those of Afsharian, Niknejad and Waescher 2014 (OR Spectrum 36). They are no part of the
project: the checks against them run where a folder `cutting-instances` is found beside the clone, or at
STOCKYARD_CUTTINGS, with the best worth of cutting a plate into sections and those into strips.
"""

import csv
import json
import os
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from stockyard.selection.instance import Instance, as_whole
from stockyard.selection.survey import LinePrices, Survey, shapes_of
from stockyard.timber import Allowances, Board, Costs, Defect, DefectKind, Face, Stock
from tests.builders import a_board, a_job, a_panel
from tests.figures.stocks import a_stock, bench_and_sides

BESIDE = Path(__file__).parents[3] / "cutting-instances"
FOLDER = Path(os.environ.get("STOCKYARD_CUTTINGS", BESIDE))
NOTHING_LOST = Allowances(0, 0, 0, 0, 0, 0, 0, 0, offcut_length_mm=1, offcut_width_mm=1)


def worth_of(width, height, items, defects, *, finely):
    """The most that items are worth on a plate, each strip one item, none over a defect."""
    boxes = [Defect(str(n), DefectKind.DECAY, Face.BOTH, outline(*box)) for n, box in enumerate(defects)]
    plate = a_board(
        id="plate", length_mm=width, width_mm=height, value=Decimal(0), defects=tuple(boxes), thickness_mm=40
    )
    kinds = sorted({(w, h): p for w, h, p in sorted(items, key=lambda item: item[2])}.items())
    panels = [
        a_panel(
            id=str(n), length_mm=w, width_mm=3 * h, staves_min=3, staves_max=3,
            stave_width_min_mm=h, stave_width_max_mm=h,
        )
        for n, ((w, h), _) in enumerate(kinds)
    ]  # fmt: skip
    job = a_job(*panels, allowances=NOTHING_LOST, costs=Costs(handling=Decimal(0), recovery=Decimal(0)))
    instance = as_whole(Stock((plate,)), job)
    shapes = shapes_of(instance.demands)
    survey = Survey(instance, instance.timbers[0], shapes, finely=finely)
    if survey.empty:
        return 0.0
    profit = [float(p) for _, p in kinds for _ in range(3)]
    lines = LinePrices(np.arange(len(profit) + 1), np.array(profit), np.zeros(len(profit)), ())
    return max(0.0, -survey.best(lines).excess)


def outline(x, y, w, h):
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def published():
    """Each instance with its best worth; nothing where the folder is not there."""
    if not (FOLDER / "optima-half.csv").exists():
        return []
    with (FOLDER / "optima-half.csv").open() as file:
        best = {row["name"]: float(row["optimum_2stage_x_first"]) for row in csv.DictReader(file)}
    with (FOLDER / "afsharian2014-sample.jsonl").open() as file:
        plates = [json.loads(line) for line in file]
    return [(plate, best[plate["name"]]) for plate in plates if plate["name"] in best]


def test_the_best_cutting_of_public_plates_is_found_exactly():
    small = [(plate, best) for plate, best in published() if plate["W"] <= 75][::3]
    wrong = {}
    for plate, best in small:
        found = worth_of(plate["W"], plate["H"], plate["items"], plate["defects"], finely=True)
        if found != pytest.approx(best):
            wrong[plate["name"]] = (found, best)
    assert wrong == {}


def test_the_prices_of_the_search_never_fall_short_of_the_best_cutting():
    wrong = {}
    for plate, best in published():
        found = worth_of(plate["W"], plate["H"], plate["items"], plate["defects"], finely=False)
        if found < best - 1e-9 or (not plate["defects"] and found != pytest.approx(best)):
            wrong[plate["name"]] = (found, best)
    assert wrong == {}


def test_a_clear_plate_is_worth_what_fits_side_by_side_and_end_to_end():
    # 100 x 60 holds two columns of 40 and three rows of 20, six items worth 5, and 20 that hold nothing.
    assert worth_of(100, 60, [(40, 20, 5)], [], finely=True) == 30
    # A flaw at 30 to 32 in the middle row costs one item, until both columns can stand beyond it.
    assert worth_of(100, 60, [(40, 20, 5)], [(30, 25, 2, 2)], finely=True) == 25
    assert worth_of(112, 60, [(40, 20, 5)], [(30, 25, 2, 2)], finely=True) == 30


def excess(instance: Instance, mm: float, stave: float):
    """By board, what cutting it costs beyond what it earns at one price for all staves and mm."""
    shapes = shapes_of(instance.demands)
    kinds = 3 * len(shapes.demands)
    per = np.repeat([float(demand.rough_length) for demand in shapes.demands], 3)
    lines = LinePrices(np.arange(kinds + 1), stave * per, mm * per, ())
    surveys = [Survey(instance, timber, shapes) for timber in instance.timbers]
    return {s.timber.board.id: round(s.best(lines).excess, 9) for s in surveys if not s.empty}


def straight(board: Board) -> Board:
    """Straightening takes wood from one edge only, so a curved board is not the same mirrored."""
    return replace(board, distortion=replace(board.distortion, spring_mm=0))


def mirrored(board: Board, *, along: bool) -> Board:
    def turn(point):
        x, y = point
        return (board.length_mm - x, y) if along else (x, board.width_mm - y)

    return replace(
        board, defects=tuple(replace(d, outline=tuple(turn(p) for p in d.outline)) for d in board.defects)
    )


@pytest.fixture(scope="module")
def boards():
    """Straight boards with flaws that are boxes, and so are their own footprints, mirrored too."""
    drawn = [straight(board) for board in a_stock(160, 11).boards]
    return tuple(
        replace(b, defects=tuple(d for d in b.defects if len({y for _, y in d.outline}) == 2)) for b in drawn
    )


@pytest.mark.parametrize("along", [False, True])
def test_a_board_earns_as_much_mirrored(boards, along):
    # Without credit for offcuts, and on boards too narrow for two staves side by side, nothing is taken for
    # better than it is, and so nothing hangs on which end is looked at first.
    job = bench_and_sides()
    job = replace(job, costs=replace(job.costs, recovery=Decimal(0)))
    narrow = tuple(board for board in boards if board.width_mm < 270)
    ours = excess(as_whole(Stock(narrow), job), 0.0003, 0.002)
    theirs = excess(as_whole(Stock(tuple(mirrored(b, along=along) for b in narrow)), job), 0.0003, 0.002)
    assert len(ours) > 10
    assert ours == pytest.approx(theirs)


def test_one_more_flaw_never_lets_a_board_earn_more(boards):
    job = bench_and_sides()
    flaw = Defect("more", DefectKind.DECAY, Face.A, outline(700, 60, 90, 20))
    more = tuple(replace(b, defects=(*b.defects, flaw)) for b in boards)
    ours = excess(as_whole(Stock(boards), job), 0.0003, 0.002)
    for board, left in excess(as_whole(Stock(more), job), 0.0003, 0.002).items():
        assert left >= ours[board] - 1e-9


def test_twice_the_money_is_twice_the_excess(boards):
    job = bench_and_sides()
    dear = replace(job, costs=replace(job.costs, handling=2 * job.costs.handling))
    rules = {
        face: {
            kind: replace(r, per_item=2 * r.per_item, per_mm=2 * r.per_mm, penalty=2 * r.penalty)
            for kind, r in getattr(job.rules, face).items()
        }
        for face in ("show", "back")
    }
    dear = replace(dear, rules=replace(job.rules, **rules))
    twice = tuple(replace(board, value=2 * board.value) for board in boards)
    ours = excess(as_whole(Stock(boards), job), 0.0003, 0.002)
    theirs = excess(as_whole(Stock(twice), dear), 0.0006, 0.004)
    assert theirs == pytest.approx({board: 2 * left for board, left in ours.items()})
