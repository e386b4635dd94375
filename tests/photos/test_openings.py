"""A gap's width is told from the light it swallows, also where it is narrower than a pixel."""

import cv2
import numpy as np
import pytest

from stockyard.photos.openings import opening_mm

MM = (0.3, 0.4)


def with_a_gap(opening_mm_: float, blur_px: float = 0.7, length: int = 200) -> np.ndarray:
    """Wood with a black gap along the columns in its middle, drawn 40 times as fine and averaged in light."""
    fine = 40
    light = np.full((61 * fine, 1), 0.30)
    wide = opening_mm_ / MM[0] * fine
    middle = 30.5 * fine
    # A gap is as dark as a deep, narrow place: about an eighth of the wood's light comes back out of it.
    light[round(middle - wide / 2) : round(middle + wide / 2)] = 0.30 * 0.12
    seen = light.reshape(61, fine).mean(axis=1)[:, None].repeat(length, 1).astype(np.float32)
    seen = cv2.GaussianBlur(seen, (0, 0), blur_px)
    noisy = 255 * seen ** (1 / 2.2) + np.random.default_rng(1).normal(0, 1, seen.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)[..., None].repeat(3, 2)


OUTLINE = np.array([(20.0, 28.0), (180.0, 28.0), (180.0, 33.0), (20.0, 33.0)])


@pytest.mark.parametrize("wide", [0.2, 0.4, 0.8, 1.5])
@pytest.mark.parametrize("blur_px", [0.5, 1.0])
def test_a_gap_is_measured_to_a_tenth_of_a_millimetre(wide: float, blur_px: float) -> None:
    assert opening_mm(with_a_gap(wide, blur_px), OUTLINE, MM) == pytest.approx(wide, abs=0.1)


def test_bare_wood_has_hardly_an_opening() -> None:
    told = opening_mm(with_a_gap(0.0), OUTLINE, MM)
    assert told is not None
    assert told < 0.06


def test_too_little_of_a_crack_has_no_opening() -> None:
    picture = with_a_gap(0.4)
    assert opening_mm(picture, np.array([(0.0, 30.0), (1.0, 30.0), (1.0, 31.0)]), MM) is None
    assert opening_mm(picture[:3], OUTLINE, MM) is None
