from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings.scales import SCALES, View, scale_for, scale_words, spread, tiers_needed
from stockyard.timber import Window


def test_the_largest_scale_that_fits_is_chosen():
    assert scale_for(2400, 180, 250, 40) == 10
    assert scale_for(2400, 500, 250, 40) == 12.5
    assert scale_for(20, 10, 250, 40) == 1


@given(st.floats(1, 9000), st.floats(1, 900), st.floats(20, 270), st.floats(10, 180))
def test_a_piece_at_its_scale_fits_the_room(length, width, room_x, room_y):
    scale = scale_for(length, width, room_x, room_y)

    assert length / scale <= room_x + 1e-9
    assert width / scale <= room_y + 1e-9
    assert scale in SCALES


def test_scales_are_written_as_draughtsmen_do():
    assert [scale_words(scale) for scale in (1, 2.5, 10)] == ["1 : 1", "1 : 2.5", "1 : 10"]


def test_wood_y_points_up_the_page():
    view = View(10, 100, 10)

    assert view.at((0, 0)) == (10, 100)
    assert view.at((500, 200)) == (60, 80)
    assert view.box(Window(0, 0, 100, 50)) == ((10, 100), (20, 100), (20, 95), (10, 95))


def test_labels_that_do_not_touch_stay_where_they_are():
    assert spread([10, 50, 90], [10, 10, 10], 0, 100) == [10, 50, 90]


def test_two_labels_at_one_place_part_evenly():
    assert spread([50, 50], [10, 20], 0, 100) == pytest.approx([42.5, 57.5])


@settings(max_examples=200)
@given(st.lists(st.tuples(st.floats(-20, 320), st.floats(1, 15)), min_size=1, max_size=18))
def test_spread_labels_do_not_overlap_keep_their_order_and_stay_in_the_room(labels):
    centres, sizes = [c for c, _ in labels], [s for _, s in labels]

    placed = spread(centres, sizes, 0, 300)

    order = sorted(range(len(labels)), key=lambda i: (centres[i], i))
    for low, high in pairwise(order):
        assert placed[high] - placed[low] >= (sizes[low] + sizes[high]) / 2 - 1e-6
    assert all(s / 2 - 1e-6 <= p <= 300 - s / 2 + 1e-6 for p, s in zip(placed, sizes, strict=True))


def test_labels_longer_than_the_room_are_said_to_need_rows():
    assert tiers_needed([10] * 5, 100) == 1
    assert tiers_needed([10] * 25, 100) == 3
