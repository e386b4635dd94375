"""Codes made by another library, photographed as a phone would: small, turned, several at once, badly lit."""

import io

import numpy as np
import pytest
import segno
from PIL import Image, ImageFilter

from stockyard.photos.codes import read_codes
from stockyard.photos.decode import Pixels


def wall(*labels: tuple[str, int, tuple[int, int], float], size: tuple[int, int] = (1600, 1200)) -> Pixels:
    """A grey wall with labels on it: what each holds, its modules' size [px], where, and how it is turned."""
    seen = Image.new("RGB", size, (150, 140, 125))
    for held, module_px, where, turned in labels:
        made = io.BytesIO()
        segno.make(held, error="q", micro=False).save(made, kind="png", scale=module_px, border=4)
        code = Image.open(made).convert("RGB").rotate(turned, expand=True, fillcolor=(150, 140, 125))
        seen.paste(code, where)
    return np.asarray(seen.filter(ImageFilter.GaussianBlur(1.2)))


@pytest.mark.parametrize("held", ["SG-0017", "https://yard.example/board/SG-0017", "BB-0001/"])
def test_a_label_is_read_as_it_was_written(held: str) -> None:
    assert read_codes(wall((held, 9, (500, 300), 0))) == (held,)


def test_labels_turned_small_and_several_at_once_are_all_read() -> None:
    seen = wall(("SG-0001", 8, (80, 80), 0), ("SG-0002", 8, (700, 120), 17), ("BB-0001", 7, (300, 650), -90))
    assert sorted(read_codes(seen)) == ["BB-0001", "SG-0001", "SG-0002"]


def test_a_small_label_in_a_large_picture_is_read() -> None:
    assert read_codes(wall(("SG-0044", 7, (2600, 1500), 8), size=(4000, 3000))) == ("SG-0044",)


def test_a_wall_without_labels_holds_nothing() -> None:
    noise = np.random.default_rng(7).integers(0, 256, (600, 800, 3), dtype=np.uint8)
    assert read_codes(noise) == ()
