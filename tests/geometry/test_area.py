from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box, union_all

from stockyard.geometry.area import board_clear_area, clear_area, clip, covered_area
from stockyard.timber import DefectKind, Window
from tests.builders import a_board, a_box, a_defect

windows = st.tuples(st.integers(0, 40), st.integers(0, 30), st.integers(1, 20), st.integers(1, 15)).map(
    lambda t: Window(t[0], t[1], t[0] + t[2], t[1] + t[3])
)


@settings(max_examples=200, deadline=None)
@given(st.lists(windows, max_size=8), windows)
def test_covered_area_counts_overlaps_once_as_shapely_does(boxes, region):
    cover = union_all([box(b.x0, b.y0, b.x1, b.y1) for b in boxes])
    expected = cover.intersection(box(region.x0, region.y0, region.x1, region.y1)).area
    assert covered_area(boxes, region) == round(expected)
    assert clear_area(boxes, region) == region.area_mm2 - round(expected)


def test_windows_that_only_touch_share_nothing():
    assert clip(Window(0, 0, 10, 10), Window(10, 0, 20, 10)) is None


def test_a_boards_clear_area_leaves_out_the_kinds_that_do_not_matter():
    knot = a_defect(id="1", kind=DefectKind.SOUND_KNOT, outline=a_box(0, 0, 100, 20))
    decay = a_defect(id="2", kind=DefectKind.DECAY, outline=a_box(50, 0, 150, 20))
    board = a_board(length_mm=1000.9, width_mm=100.9, defects=(knot, decay))
    assert board_clear_area(board) == 1000 * 100 - 150 * 20
    assert board_clear_area(board, {DefectKind.DECAY}) == 1000 * 100 - 100 * 20
