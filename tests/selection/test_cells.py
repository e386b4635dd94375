"""Where a stave may lie, by figures worked by hand for one board of 2400 x 180."""

from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.selection.cells import ENDS, MIDDLE, fits, straightening, widest_rough
from stockyard.selection.instance import as_whole
from stockyard.timber import DefectKind, Distortion, Do, Rule, Rules, Stock
from tests.builders import a_board, a_box, a_defect, a_job, a_panel

TREATED = Rule(Do.TREAT, per_item=Decimal(2), per_mm=Decimal("0.01"))
BOTH_TREATED = Rules({DefectKind.CRACK: TREATED}, {DefectKind.CRACK: TREATED})


def the_fits(board, job=None):
    instance = as_whole(Stock((board,)), job or a_job(rules=BOTH_TREATED))
    return fits(instance, instance.timbers[0], instance.demands[0])


def middle_of(found):
    return next(fit for fit in found if fit.role == MIDDLE)


def test_a_clear_board_allows_every_edge_between_its_allowances():
    (cell,) = middle_of(the_fits(a_board())).cells(20)
    assert (cell.low, cell.high) == (3, 177)  # 3 mm for jointing off each edge of 180
    assert cell.cost == 0


def test_a_treated_crack_keeps_glued_edges_a_clear_strip_away():
    crack = a_defect(outline=a_box(300, 80, 400, 84))
    cells = middle_of(the_fits(a_board(defects=(crack,)))).cells(20)
    around = next(cell for cell in cells if cell.cost > 0)
    assert around.low_last == 75  # 5 mm below the crack's 80
    assert around.high_first == 89  # 5 mm above its 84
    assert around.cost == pytest.approx(3.0)  # 2.00 and 100 mm at 0.01
    assert any(cell.cost == 0 and cell.low == 84 for cell in cells)


def test_an_outer_edge_may_cross_a_treated_crack():
    crack = a_defect(outline=a_box(300, 80, 400, 84))
    fit = next(fit for fit in the_fits(a_board(defects=(crack,))) if fit.role == ENDS[0])
    around = next(cell for cell in fit.cells(20) if cell.cost > 0 and cell.low == 5)
    assert around.low_last > 75


def test_a_crack_in_the_end_strip_is_avoided_whatever_its_rule():
    crack = a_defect(outline=a_box(30, 80, 40, 84))  # the finished end is at 30, kept clear up to 40
    fit = middle_of(the_fits(a_board(defects=(crack,))))
    assert all(cell.cost == 0 for cell in fit.cells(20))
    assert all(cell.low >= 84 or cell.high <= 80 for cell in fit.cells(20))


def test_straightening_takes_the_sagitta_of_the_piece_rounded_up():
    board = a_board(distortion=Distortion(spring_mm=8))
    instance = as_whole(Stock((board,)), a_job())
    # 1220 of 2400 mm: 8 x 0.2584 = 2.07, so 3 mm.
    assert straightening(instance.timbers[0], instance.demands[0]) == 3


def test_cup_and_twist_bound_the_width_that_stays_thick_enough():
    board = a_board(thickness_mm=28, distortion=Distortion(cup_mm=4))
    instance = as_whole(Stock((board,)), a_job())
    # 28 - 3 - 24 = 1 mm to spare; 4 x (w/180)^2 <= 1 gives w <= 90.
    assert widest_rough(instance.timbers[0], instance.demands[0], instance.cuts) == 90


@pytest.mark.parametrize(
    "change",
    [{"species": "jarrah"}, {"moisture_pct": 15.1}, {"moisture_pct": None}, {"length_mm": 1259}],
)
def test_a_board_of_another_kind_or_too_short_fits_nowhere(change):
    assert the_fits(replace(a_board(), **change)) == ()


def test_a_board_just_long_enough_fits():
    assert the_fits(a_board(length_mm=1260))


def test_counts_and_widths_that_cannot_add_up_are_known_at_once():
    job = a_job(a_panel(staves_min=3, staves_max=3, width_mm=450))
    (demand,) = as_whole(Stock((a_board(),)), job).demands
    assert (demand.least, demand.most) == (3, 3)
    assert demand.narrowest == 130  # 450 less two of 160
    assert not as_whole(Stock(()), a_job(a_panel(width_mm=1000))).demands[0].possible
