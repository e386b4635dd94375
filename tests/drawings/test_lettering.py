from hypothesis import given
from hypothesis import strategies as st

from stockyard.drawings.lettering import ELLIPSIS, fitted, size_to_fit, width_mm


def test_width_grows_with_size_weight_and_letters():
    assert width_mm("stave", 4) == 2 * width_mm("stave", 2)
    assert width_mm("stave", 4, bold=True) > width_mm("stave", 4)
    assert width_mm("mm", 4) > width_mm("ii", 4)


def test_wide_scripts_are_taken_as_wide():
    assert width_mm("板", 4) > 4


def test_combining_marks_take_no_room():
    assert width_mm("e\u0301", 4) == width_mm("e", 4)


@given(st.text(max_size=60), st.floats(6, 100))
def test_fitted_text_fits_and_is_the_text_or_its_beginning(text, room):
    short = fitted(text, room, 3)

    assert width_mm(short, 3) <= room + 1e-6
    assert short == text or text.startswith(short.removesuffix(ELLIPSIS))


@given(st.text(min_size=1, max_size=40), st.floats(10, 100))
def test_text_set_at_its_size_fits_unless_that_is_the_least(text, room):
    size = size_to_fit(text, room, 9, 3)

    assert 3 <= size <= 9
    assert size == 3 or width_mm(text, size) <= room + 1e-6
