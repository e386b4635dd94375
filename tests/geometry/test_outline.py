import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.geometry.outline import faulty_shapes, outline_faults
from tests.builders import a_box


def test_a_rectangle_on_the_board_has_no_faults():
    assert outline_faults(a_box(10, 10, 60, 40), 2400, 180) == ()


def test_a_point_off_the_board_is_named():
    (fault,) = outline_faults(((10, 10), (2500, 10), (60, 40)), 2400, 180, "boards[3].defects[0].outline")
    assert fault.where == "boards[3].defects[0].outline[1]"
    assert fault.found == "(2500, 10)"


def test_every_point_off_the_board_is_named():
    faults = outline_faults(((-1, 10), (60, 10), (60, 181)), 2400, 180)
    assert [fault.where for fault in faults] == ["outline[0]", "outline[2]"]


def test_an_outline_that_crosses_itself_says_where():
    (fault,) = outline_faults(((0, 0), (100, 80), (100, 0), (0, 80)), 2400, 180)
    assert "(50, 40)" in fault.found


def test_an_outline_that_touches_itself_is_refused():
    bow_tie = ((0, 0), (50, 40), (100, 0), (100, 80), (50, 40), (0, 80))
    (fault,) = outline_faults(bow_tie, 2400, 180)
    assert "(50, 40)" in fault.found


@pytest.mark.parametrize(
    "outline",
    [((0, 0), (50, 0), (100, 0)), ((0, 0), (50, 20), (100, 40), (20, 8)), ((7, 7), (7, 7), (7, 7))],
)
def test_an_outline_without_area_is_refused(outline):
    (fault,) = outline_faults(outline, 2400, 180)
    assert "area" in fault.expected


def test_two_points_are_no_outline():
    (fault,) = outline_faults(((0, 0), (50, 0)), 2400, 180)
    assert fault.found == "2"


def test_a_star_that_always_turns_the_same_way_is_still_found_to_cross_itself():
    star = ((50, 0), (79, 90), (2, 35), (98, 35), (21, 90))
    assert faulty_shapes([a_box(0, 0, 5, 5), star]) == [1]


points = st.tuples(st.integers(0, 60), st.integers(0, 40))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(points, min_size=3, max_size=7).map(tuple), min_size=1, max_size=6))
def test_shapes_are_judged_as_shapely_judges_them_one_by_one(outlines):
    expected = []
    for index, outline in enumerate(outlines):
        polygon = shapely.Polygon(outline)
        if not polygon.is_valid or polygon.area == 0:
            expected.append(index)
    assert faulty_shapes(outlines) == expected
    assert [bool(outline_faults(outline, 60, 40)) for outline in outlines] == [
        index in expected for index in range(len(outlines))
    ]
