"""A picture is laid along its grain and brought to the size it is read at, whatever scale it is told."""

import numpy as np
import pytest

from stockyard.photos.evidence import NAMES
from stockyard.photos.ready import made_ready

FINEST = (0.25, 0.5)


def a_frame(columns: int, rows: int, rim: int = 0) -> np.ndarray:
    """A pale upright board, with dark ground beside it."""
    picture = np.random.default_rng(1).integers(168, 180, (rows, columns, 3), np.uint8)
    if rim:
        picture[:, :rim] = picture[:, -rim:] = 12
    return picture


def test_grain_is_laid_along_the_columns() -> None:
    standing = made_ready(a_frame(600, 200), (0.25, 0.5), "vertical", FINEST)
    assert standing.work.shape == (600, 200, 3)
    assert made_ready(a_frame(600, 200), (0.25, 0.5), "horizontal", FINEST).work.shape == (200, 600, 3)


def test_a_fine_picture_is_brought_to_the_finest_pixel_that_is_read() -> None:
    ready = made_ready(a_frame(2400, 800), (0.0625, 0.25), "vertical", FINEST)
    assert ready.work.shape == (600, 400, 3)
    assert ready.mm == pytest.approx(FINEST)


def test_a_picture_told_too_fine_keeps_what_it_shows() -> None:
    """A board that fills the picture: nothing says how wide it is, but 480 pixels across it are kept."""
    ready = made_ready(a_frame(600, 300), (0.05, 0.1), "vertical", FINEST)
    assert ready.work.shape[0] == 480


def test_a_board_narrower_than_any_is_read_as_a_usual_one_and_measured_as_told() -> None:
    ready = made_ready(a_frame(640, 240, rim=20), (0.07, 0.13), "vertical", FINEST)  # 42 mm by what was told
    assert ready.mm[0] * ready.work.shape[0] == pytest.approx(640 * 0.07)
    across = ready.evidence.mm[0] * ready.work.shape[0] * 600 / 640
    assert across == pytest.approx(130, rel=0.02)
    believed = made_ready(a_frame(640, 240, rim=20), (0.2, 0.4), "vertical", FINEST)  # 120 mm
    assert believed.evidence.mm == believed.mm


def test_every_value_is_measured_at_every_point() -> None:
    ready = made_ready(a_frame(301, 149), (0.25, 0.5), "vertical", FINEST)
    rows, columns = np.array([0, 150, 300]), np.array([0, 74, 148])
    values = ready.evidence.at(rows, columns)
    assert values.shape == (3, len(NAMES))
    assert np.isfinite(values).all()
    assert ready.evidence.whole("wide_line").shape == (301, 149)
