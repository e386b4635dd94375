import re

import pytest

from stockyard.drawings.board_ends import board_ends

RECT = re.compile(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"/>')


def test_ends_are_at_true_proportion_and_do_not_overlap() -> None:
    ends = [tuple(map(float, found)) for found in RECT.findall(board_ends([(200.0, 50.0), (100.0, 25.0)]))]
    (x1, y1, wide1, high1), (x2, y2, wide2, high2) = ends
    assert wide1 / high1 == pytest.approx(4)
    assert wide1 / wide2 == pytest.approx(2)
    assert x2 >= x1 + wide1
    assert y1 + high1 == pytest.approx(y2 + high2)  # both stand on the shelf


def test_a_shelf_that_is_full_goes_on_in_the_next_row() -> None:
    drawn = board_ends([(150.0, 25.0)] * 30, width_px=300.0, px_per_mm=0.2)
    assert len(RECT.findall(drawn)) == 30
    assert all(float(x) + float(wide) <= 300 for x, _, wide, _ in RECT.findall(drawn))
    assert drawn.count('class="shelf"') == 4  # nine of 30 px with their gaps in each row of 300
