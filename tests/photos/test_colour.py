"""A face's colour is what published conversions say, and a card's white takes the lamp out of it."""

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, rgb2lab

from stockyard.errors import BadInput
from stockyard.measures.colour import colour_difference
from stockyard.photos.colour import PAPER, face_colour, figure_direction, to_lab
from tests.photos.render.board import draw_board


def test_lab_agrees_with_scikit_image() -> None:
    pixels = np.random.default_rng(2).integers(0, 256, (40, 50, 3), np.uint8)
    theirs = rgb2lab(pixels)  # D65, 2 degree observer
    assert np.abs(to_lab(pixels) - theirs).max() < 0.5
    assert deltaE_ciede2000(to_lab(pixels), theirs).max() < 0.3


def test_colour_difference_agrees_with_scikit_image() -> None:
    rng = np.random.default_rng(3)
    for first, second in rng.uniform((20, -20, -10), (90, 40, 50), (50, 2, 3)):
        ours = colour_difference(tuple(map(float, first)), tuple(map(float, second)))
        assert ours == pytest.approx(float(deltaE_ciede2000(first, second)), abs=1e-6)


def test_a_white_card_takes_out_the_lamps_colour() -> None:
    face = draw_board(3, "white oak", 300, 120, mm_per_px=0.5, wanted=(), marks=()).faces["A"]
    mask = np.full(face.shape[:2], 255, np.uint8)
    plain = face_colour(face, mask, white=(239.0, 239.0, 239.0))
    lamp = np.array([1.1, 1.0, 0.75]) * 0.8
    linear = (np.where(face <= 10, face / 255 / 12.92, ((face / 255 + 0.055) / 1.055) ** 2.4)) * lamp
    lit = np.round(255 * np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))
    paper = PAPER * lamp
    white = 255 * (1.055 * paper ** (1 / 2.4) - 0.055)
    balanced = face_colour(lit.astype(np.uint8), mask, tuple(float(v) for v in white))
    uncorrected = face_colour(lit.astype(np.uint8), mask)
    assert balanced.corrected
    assert not uncorrected.corrected
    assert colour_difference(balanced.lab, plain.lab) < 1.5 < colour_difference(uncorrected.lab, plain.lab)


def test_too_dark_a_card_or_too_little_wood_is_refused() -> None:
    face = np.full((50, 50, 3), 90, np.uint8)
    with pytest.raises(BadInput, match="too dark"):
        face_colour(face, np.full((50, 50), 255, np.uint8), white=(10.0, 10.0, 12.0))
    with pytest.raises(BadInput, match="bare wood"):
        face_colour(face, np.zeros((50, 50), np.uint8))


@pytest.mark.parametrize("angle", [-60.0, -15.0, 0.0, 30.0, 75.0])
def test_the_figure_runs_the_way_it_was_drawn(angle: float) -> None:
    y, x = np.mgrid[0:300, 0:600].astype(float)
    across = -x * np.sin(np.radians(angle)) - y * np.cos(np.radians(angle))
    tone = 128 + 40 * np.sin(across * 2 * np.pi / 9)
    figure = figure_direction(np.dstack([tone] * 3).astype(np.uint8), 0.8)
    assert figure.angle_deg == pytest.approx(angle, abs=1.5)
    assert figure.strength > 0.9
    assert figure.across_share == pytest.approx(np.sin(np.radians(angle)) ** 2, abs=0.08)
