import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stockyard.geometry.footprint import SLICE_MM, footprint, length_along_x
from stockyard.timber import Window
from tests.builders import a_box

decimals = st.integers(0, 1200).map(lambda tenths: tenths / 10)
polygons = st.lists(st.tuples(decimals, decimals), min_size=3, max_size=7).map(tuple)


def simple(outline):
    polygon = shapely.Polygon(outline)
    return polygon.is_valid and polygon.area > 0.5


def test_a_rectangle_is_its_own_footprint():
    boxes = footprint(a_box(310, 40, 455, 55))
    assert shapely.union_all([shapely.box(b.x0, b.y0, b.x1, b.y1) for b in boxes]).equals(
        shapely.box(310, 40, 455, 55)
    )
    assert length_along_x(boxes) == 145


def test_slices_lie_between_multiples_of_25_mm():
    assert footprint(a_box(20, 3, 60, 9)) == (
        Window(20, 3, 25, 9),
        Window(25, 3, 50, 9),
        Window(50, 3, 60, 9),
    )


def test_a_slanting_crack_stands_for_a_staircase_of_boxes():
    assert footprint(((0, 0), (50, 20), (50, 22), (0, 2))) == (Window(0, 0, 25, 12), Window(25, 10, 50, 22))


def test_boxes_are_rounded_outward():
    assert footprint(a_box(10.2, 3.9, 12.8, 5.1)) == (Window(10, 3, 13, 6),)


def test_a_decimal_that_is_not_a_binary_fraction_is_not_rounded_past_itself():
    # 0.1 + 0.2 style errors would make the upper edge 44.
    assert footprint(a_box(10, 40.1, 20, 43.0))[0].y1 == 43
    assert footprint(((0, 0), (30, 0), (30, 3), (0, 1)))[0] == Window(0, 0, 25, 3)


def test_a_point_touching_the_next_slice_makes_no_box_there():
    assert footprint(((0, 0), (25, 5), (0, 10))) == (Window(0, 0, 25, 10),)


def test_an_upright_edge_on_the_border_of_two_slices_belongs_to_the_one_it_bounds():
    bent = ((24, 8), (44, 8), (44, 9), (25, 9), (25, 12), (24, 12))
    assert footprint(bent) == (Window(24, 8, 25, 12), Window(25, 8, 44, 9))


@settings(max_examples=150, deadline=None)
@given(polygons)
def test_the_footprint_holds_the_outline_and_each_box_is_as_tight_as_whole_millimetres_allow(outline):
    assume(simple(outline))
    polygon = shapely.Polygon(outline)
    boxes = footprint(outline)
    cover = shapely.union_all([shapely.box(b.x0, b.y0, b.x1, b.y1) for b in boxes])
    assert cover.buffer(1e-6).covers(polygon)
    for box in boxes:
        left = box.x0 // SLICE_MM * SLICE_MM
        part = polygon.intersection(shapely.box(left, -1, left + SLICE_MM, 200))
        x0, y0, x1, y1 = part.bounds
        assert box.x1 <= left + SLICE_MM
        for edge, reached, outward in ((box.x0, x0, 1), (box.y0, y0, 1), (box.x1, x1, -1), (box.y1, y1, -1)):
            assert -1e-6 <= outward * (reached - edge) < 1 + 1e-6


@settings(max_examples=100, deadline=None)
@given(polygons)
def test_there_is_one_box_for_each_slice_in_which_the_outline_has_area(outline):
    assume(simple(outline))
    polygon = shapely.Polygon(outline)
    slices = {
        k for k in range(5) if polygon.intersection(shapely.box(25 * k, -1, 25 * k + 25, 200)).area > 1e-9
    }
    assert {box.x0 // SLICE_MM for box in footprint(outline)} == slices
    assert sum(box.area_mm2 for box in footprint(outline)) >= polygon.area - 1e-6
