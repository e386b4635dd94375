import pytest

from stockyard.errors import BadInput
from stockyard.grading.straightness import Measured, slope_of_grain, thickness_left, whole_board, width_left
from stockyard.timber import Distortion


def test_a_bow_of_four_over_two_metres_is_one_over_one():
    # Computed from the sagitta of an arc: d2 = d1 (L2/L1)^2, R = L^2 / 8d = 125 m.
    bow = Measured(4, 2000)

    assert bow.carried_to(1000) == 1.0
    assert bow.radius_mm == 125_000
    assert bow.carried_to(2400) == pytest.approx(5.76, abs=0.01)


def test_a_straight_board_has_no_radius():
    assert Measured(0).radius_mm is None
    assert Measured(0).carried_to(5000) == 0


def test_grain_that_runs_off_25_in_300_slopes_one_in_twelve():
    # EN 1310 extract (read): x / y; 8.33 % (computed).
    assert slope_of_grain(25, 300) * 100 == pytest.approx(8.33, abs=0.01)


def test_measured_over_parts_it_is_told_for_the_whole_board():
    board = whole_board(
        2400, 200, bow=Measured(4), spring=Measured(1, 1200), cup=Measured(2, 200), twist=Measured(3, 1200)
    )

    assert board == Distortion(pytest.approx(5.76), 4.0, 2.0, 6.0)
    assert whole_board(2400, 200) == Distortion()


def test_what_is_left_is_what_selection_counts_with():
    # The rule of a lawful stave: thickness - bow - cup - twist - 2 x planing.
    left = Distortion(bow_mm=1, spring_mm=3, cup_mm=0.5, twist_mm=0.5)

    assert thickness_left(32, left, 1.5) == 27
    assert width_left(140, left, 3) == 131


@pytest.mark.parametrize(("deviation", "over"), [(-1, 2000), (float("nan"), 2000), (1, 0), (1, float("inf"))])
def test_a_measure_that_cannot_be_is_refused(deviation, over):
    with pytest.raises(BadInput):
        Measured(deviation, over)
