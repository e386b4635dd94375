import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stockyard.geometry.outline import outline_faults
from stockyard.geometry.piece import clipped_defect, defects_of_piece, distortion_of_piece
from stockyard.timber import Distortion, Face, Window
from tests.builders import a_box, a_defect

points = st.tuples(st.integers(0, 120), st.integers(0, 60))


def test_a_defect_inside_moves_into_the_pieces_frame_and_keeps_everything_else():
    defect = a_defect(face=Face.B, depth_mm=3, opening_mm=0.4, outline=a_box(310, 40, 455, 55))
    (part,) = clipped_defect(defect, Window(300, 30, 600, 100))
    assert part == a_defect(face=Face.B, depth_mm=3, opening_mm=0.4, outline=a_box(10, 10, 155, 25))


def test_a_defect_across_the_cut_is_cut_there():
    (part,) = clipped_defect(a_defect(outline=a_box(310, 40, 455, 55)), Window(400, 50, 600, 100))
    assert shapely.Polygon(part.outline).equals(shapely.box(0, 0, 55, 5))
    assert part.id == "SG-0001/1"


def test_a_defect_outside_stays_behind():
    assert clipped_defect(a_defect(outline=a_box(310, 40, 455, 55)), Window(455, 0, 600, 100)) == ()


def test_a_bent_defect_may_fall_into_parts():
    horseshoe = ((0, 0), (60, 0), (60, 10), (10, 10), (10, 20), (60, 20), (60, 30), (0, 30))
    parts = clipped_defect(a_defect(outline=horseshoe), Window(20, 0, 100, 40))
    assert [part.id for part in parts] == ["SG-0001/1.1", "SG-0001/1.2"]
    assert shapely.Polygon(parts[0].outline).equals(shapely.box(0, 0, 40, 10))
    assert shapely.Polygon(parts[1].outline).equals(shapely.box(0, 20, 40, 30))


@settings(max_examples=150, deadline=None)
@given(st.lists(points, min_size=3, max_size=7).map(tuple), points, st.integers(5, 60), st.integers(5, 40))
def test_pieces_carry_exactly_the_part_of_the_defect_that_lies_in_them(outline, corner, length, width):
    polygon = shapely.Polygon(outline)
    assume(polygon.is_valid and polygon.area > 1)
    window = Window(corner[0], corner[1], corner[0] + length, corner[1] + width)
    parts = defects_of_piece([a_defect(outline=outline)], window)
    expected = polygon.intersection(shapely.box(window.x0, window.y0, window.x1, window.y1))
    assert sum(shapely.Polygon(p.outline).area for p in parts) == pytest.approx(expected.area, abs=0.2)
    for part in parts:
        x0, y0, x1, y1 = shapely.Polygon(part.outline).bounds
        assert x0 >= 0
        assert y0 >= 0
        assert x1 <= length
        assert y1 <= width
        if shapely.Polygon(part.outline).area > 1:
            assert outline_faults(part.outline, length, width) == ()


# d2 = d1 (L2 / L1)^2 and R = L^2 / (8 d): a circle's sagitta, worked by hand.
@pytest.mark.parametrize(("piece_mm", "bow_mm"), [(1000, 1.0), (2400, 5.76)])
def test_bow_and_spring_go_with_the_square_of_the_length(piece_mm, bow_mm):
    scaled = distortion_of_piece(Distortion(bow_mm=4, spring_mm=4), 2000, 180, piece_mm, 180)
    assert scaled.bow_mm == pytest.approx(bow_mm, abs=0.01)
    assert scaled.spring_mm == pytest.approx(bow_mm, abs=0.01)


def test_a_shorter_piece_keeps_the_radius_of_its_board():
    def radius_m(length_mm, sagitta_mm):
        return length_mm**2 / (8 * sagitta_mm) / 1000

    scaled = distortion_of_piece(Distortion(bow_mm=4), 2000, 180, 1000, 180)
    assert radius_m(2000, 4) == 125
    assert radius_m(1000, scaled.bow_mm) == 125


def test_cup_goes_with_the_square_of_the_width_and_twist_with_both():
    scaled = distortion_of_piece(Distortion(cup_mm=2, twist_mm=6), 2000, 180, 1000, 90)
    assert scaled.cup_mm == pytest.approx(0.5)
    assert scaled.twist_mm == pytest.approx(1.5)
