"""Reading a face in pieces gives what reading it whole would, and no seam shows."""

import numpy as np
import pytest

from stockyard.photos import tiles
from stockyard.photos.classes import CLASSES
from stockyard.photos.tiles import at_reading_scale, told_of


def by_tone(picture: np.ndarray) -> np.ndarray:
    """A reader that looks at nothing but each 2 x 2 pixels: dark is a crack, light is clear."""
    tone = picture[0].mean(axis=0)
    half = (tone[::2, ::2] + tone[1::2, ::2] + tone[::2, 1::2] + tone[1::2, 1::2]) / 4
    logits = np.zeros((1, len(CLASSES), *half.shape), np.float32)
    logits[0, CLASSES.index("clear")] = 8 * half
    logits[0, CLASSES.index("crack")] = 8 * (1 - half)
    return logits


@pytest.mark.parametrize(("rows", "columns"), [(40, 60), (700, 3601), (1301, 1700), (1280, 769), (16, 1537)])
def test_pieces_laid_together_are_the_whole(rows: int, columns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    face = np.random.default_rng(3).integers(0, 256, (rows, columns, 3), np.uint8)
    pieced = told_of(face, by_tone)
    monkeypatch.setattr(tiles, "_TILE", (4000, 4000))
    whole = told_of(face, by_tone)
    assert pieced.shape == (len(CLASSES), -(-rows // 2), -(-columns // 2))
    assert np.abs(pieced - whole).max() < 1e-5
    assert np.abs(pieced.sum(axis=0) - 1).max() < 1e-5


def test_no_piece_is_larger_than_what_memory_is_reckoned_for() -> None:
    seen = []

    def watching(picture: np.ndarray) -> np.ndarray:
        seen.append(picture.shape)
        return by_tone(picture)

    told_of(np.zeros((800, 9600, 3), np.uint8), watching)
    assert len(seen) > 1
    assert all(rows <= 1280 + 16 and columns <= 768 + 16 for _, _, rows, columns in seen)
    assert all(rows % 16 == 0 and columns % 16 == 0 for _, _, rows, columns in seen)


@pytest.mark.parametrize(
    ("size", "mm", "expected"),
    [
        ((731, 2000), (0.07, 0.13), (205, 520)),
        ((200, 300), (1.0, 1.0), (800, 600)),
        ((400, 200), (0.25, 0.5), (400, 200)),
    ],
)
def test_a_face_is_brought_to_a_quarter_by_half_a_millimetre(
    size: tuple[int, int], mm: tuple[float, float], expected: tuple[int, int]
) -> None:
    """Pixels across = rows x mm / 0.25, along = columns x mm / 0.5."""
    assert at_reading_scale(np.zeros((*size, 3), np.uint8), mm).shape[:2] == expected
