import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.drawings.clipping import clipped
from stockyard.timber import Window
from tests.builders import a_box


def area(outline):
    return abs(
        sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True))
        / 2
    )


def test_an_outline_inside_stays_whole():
    (part,) = clipped(a_box(10, 10, 20, 20), Window(0, 0, 100, 100))

    assert sorted(part) == sorted((float(x), float(y)) for x, y in a_box(10, 10, 20, 20))


def test_an_outline_that_only_touches_leaves_nothing():
    assert clipped(a_box(10, 10, 20, 20), Window(20, 0, 100, 100)) == []
    assert clipped(a_box(10, 10, 20, 20), Window(50, 50, 60, 60)) == []


def test_a_bent_outline_may_leave_two_parts_the_larger_first():
    bent = ((0, 0), (40, 0), (40, 30), (30, 30), (30, 10), (20, 10), (20, 30), (0, 30))

    parts = clipped(bent, Window(0, 20, 40, 30))

    assert [area(part) for part in parts] == [200, 100]


@given(*(st.integers(0, 90) for _ in range(4)))
def test_a_clipped_box_has_the_area_of_the_overlap(x, y, u, v):
    parts = clipped(a_box(x, y, x + 10, y + 10), Window(u, v, u + 10, v + 10))

    overlap = max(0, min(x, u) + 10 - max(x, u)) * max(0, min(y, v) + 10 - max(y, v))
    assert sum(map(area, parts)) == pytest.approx(overlap)
