import pytest

from stockyard.geometry.frames import stave_point, upside_down
from stockyard.timber import Face, Window

WINDOW = Window(100, 20, 400, 80)


@pytest.mark.parametrize(
    ("show", "turned", "expected"),
    [
        (Face.A, False, (10, 5)),
        (Face.A, True, (290, 55)),
        (Face.B, False, (10, 55)),
        (Face.B, True, (290, 5)),
    ],
)
def test_a_point_lies_where_the_table_of_frames_says(show, turned, expected):
    assert stave_point((110, 25), WINDOW, show, turned) == expected


@pytest.mark.parametrize("show", [Face.A, Face.B])
def test_turning_over_and_end_for_end_is_turning_about_the_length(show):
    x, _ = stave_point((110, 25), WINDOW, show, turned=False)
    turned_x, _ = stave_point((110, 25), WINDOW, show.other, turned=True)
    assert x + turned_x == WINDOW.length_mm
    assert upside_down(show, turned=False) == upside_down(show.other, turned=True)
