"""Pictures of a part each are joined into one long face, the seams' error told."""

from functools import cache

import numpy as np
import pytest

from stockyard.errors import BadInput
from stockyard.photos.strip import join_strip
from tests.photos.render.board import draw_board
from tests.photos.render.photograph import Photograph, Shot, photograph

STATIONS = (0, 1, 10, 11, 12, 13, 14, 15, 16, 2, 3)


@cache
def parts(cards: tuple[int, ...]) -> tuple[Photograph, ...]:
    board = draw_board(12, "tasmanian oak", 4800, 180, mm_per_px=0.6, wanted=("crack", "sound_knot", "bark"))
    return tuple(
        photograph(
            board, "A", Shot((1600, 1200), 3.2, 2, 4, turn, (0.005, 0), cards=cards, look_at=at), seed=9
        )
        for at, turn in ((0.13, 2.0), (0.37, -1.0), (0.63, 0.0), (0.87, 1.0))
    )


# With cards as sharp as a single picture asks (2 mm); without, what the sides alone can tell.
@pytest.mark.parametrize(("cards", "within_mm"), [(STATIONS, 3.0), ((), 15.0)])
def test_a_board_of_4_8_m_is_laid_together(cards: tuple[int, ...], within_mm: float) -> None:
    photos = parts(cards)
    strip = join_strip([photo.pixels for photo in photos], 4800, 180)
    assert strip.pixels.shape[1] * strip.mm_per_px == pytest.approx(4800, abs=1)
    assert len(strip.seams) == 3
    assert all(seam.error_mm < 5 and seam.overlap_mm > 100 for seam in strip.seams)
    for photo, plane in zip(photos, strip.planes, strict=True):
        x, y = np.meshgrid(np.linspace(0, 4800, 33), (20, 160))
        known = np.column_stack([x.ravel(), y.ravel()])
        seen = photo.to_px(known)
        shown = ((seen > 0) & (seen < (1599, 1199))).all(axis=1)
        assert np.linalg.norm(plane.to_board(seen[shown]) - known[shown], axis=1).max() < within_mm


def test_pictures_out_of_order_or_of_a_shorter_board_are_refused() -> None:
    pixels = [photo.pixels for photo in parts(STATIONS)]
    with pytest.raises(BadInput, match="order"):
        join_strip([pixels[1], pixels[0]], 4800, 180)
    with pytest.raises(BadInput, match="logged"):
        join_strip(pixels, 4200, 180)
    with pytest.raises(BadInput, match="overlap by a third"):
        join_strip([pixels[0], pixels[3]], 4800, 180)
    with pytest.raises(BadInput, match="at least two"):
        join_strip(pixels[:1], 4800, 180)
