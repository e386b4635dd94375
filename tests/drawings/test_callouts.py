from hypothesis import given
from hypothesis import strategies as st

from stockyard.drawings.callouts import (
    Box,
    Callout,
    around,
    beside,
    callout_tiers,
    callouts_over,
    first_free,
)
from stockyard.drawings.sheet import Line, Words


def test_the_first_place_that_overlaps_nothing_is_taken():
    near, far = Box(0, 0, 10, 10), Box(20, 0, 30, 10)

    assert first_free([near, far], [Box(5, 5, 6, 6)]) == far
    assert first_free([near, far], [Box(10, 0, 20, 10)]) == near
    assert first_free([near, far], [Box(0, 0, 30, 10)]) is None


@given(st.floats(0, 50), st.floats(0, 50), st.floats(0.1, 40), st.floats(0.1, 40))
def test_places_beside_a_thing_do_not_cover_it(x, y, wide, high):
    thing = Box(x, y, x + wide, y + high)

    assert not any(place.meets(thing) for place in beside(thing, 4, 3))


def test_the_box_around_an_outline_touches_its_outermost_points():
    assert around(((3, 9), (1, 4), (7, 5))) == Box(1, 4, 7, 9)


def test_keys_that_do_not_fit_one_row_stand_in_more():
    keys = [f"C{number}" for number in range(60)]

    assert callout_tiers([], 100) == 0
    assert callout_tiers(keys[:5], 100) == 1
    assert callout_tiers(keys, 100) > 2


def test_every_key_has_a_line_that_ends_at_its_thing():
    wanted = [Callout("C1", (50, 40)), Callout("C2", (50, 60)), Callout("C3", (90, 44))]

    marks = callouts_over(wanted, 0, 100, 30)

    assert {mark.text for mark in marks if isinstance(mark, Words)} == {"C1", "C2", "C3"}
    assert {mark.points[-1] for mark in marks if isinstance(mark, Line)} == {(50, 40), (50, 60), (90, 44)}
    assert all(mark.y_mm < 30 for mark in marks if isinstance(mark, Words))
