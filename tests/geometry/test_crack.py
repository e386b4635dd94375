import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.geometry.crack import crack_outline
from stockyard.geometry.footprint import footprint
from stockyard.geometry.outline import outline_faults
from stockyard.timber import Window


def test_a_straight_crack_is_a_rectangle_as_wide_as_it_gapes():
    outline = crack_outline([(300, 80), (400, 80)], 2, 2400, 180)
    assert footprint(outline)[0].y0 == 79
    assert shapely.Polygon(outline).equals(shapely.box(300, 79, 400, 81))


def test_a_hairline_still_has_an_area():
    outline = crack_outline([(300, 80), (320, 80)], None, 2400, 180)
    assert footprint(outline) == (Window(300, 79, 320, 81),)


def test_a_crack_along_the_edge_stays_on_the_board():
    outline = crack_outline([(0, 0), (100, 0)], 4, 2400, 180)
    assert shapely.Polygon(outline).equals(shapely.box(0, 0, 100, 2))


@pytest.mark.parametrize(
    ("line", "opening", "where"),
    [
        ([(300, 80)], 1, "line"),
        ([(300, 80), (300, 80)], 1, "line"),
        ([(300, 80), (2500, 80)], 1, "line[1]"),
        ([(0, 0), (100, 100), (100, 0), (0, 100)], 1, "line"),
        ([(300, 80), (400, 80)], -1, "opening"),
        ([(300, 80), (400, 80)], float("nan"), "opening"),
    ],
)
def test_a_line_that_is_no_crack_is_refused(line, opening, where):
    with pytest.raises(BadInput) as refused:
        crack_outline(line, opening, 2400, 180)
    assert [fault.where for fault in refused.value.faults] == [where]


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 240), st.integers(0, 180)), min_size=2, max_size=4, unique=True),
    st.floats(0.2, 6),
)
def test_whatever_bends_it_has_the_outline_is_sound_and_holds_the_line(line, opening):
    assume(shapely.LineString(line).is_simple)
    try:
        outline = crack_outline(line, opening, 240, 180)
    except BadInput:
        assume(False)
    assert outline_faults(outline, 240, 180) == ()
    assert shapely.Polygon(outline).buffer(0.002).covers(shapely.LineString(line))
