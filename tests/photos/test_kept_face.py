"""A kept face: its file, its bare wood, its part, its marks, and several on one sheet."""

import numpy as np
import pytest

from stockyard.photos.kept_face import (
    KeptFace,
    as_jpeg,
    bare_wood,
    cut_out,
    marked,
    open_face,
    reduced,
    sheet,
    small_view,
)
from stockyard.timber import Window

BOX = ((200, 20), (300, 20), (300, 60), (200, 60))


def a_face(length_mm: float = 1000, width_mm: float = 100, mm_per_px: float = 0.5) -> KeptFace:
    """A face that grows redder along the board and greener across it."""
    rows, columns = round(width_mm / mm_per_px), round(length_mm / mm_per_px)
    pixels = np.zeros((rows, columns, 3), np.uint8)
    pixels[..., 0] = np.linspace(0, 250, columns)[None]
    pixels[..., 1] = np.linspace(250, 0, rows)[:, None]  # y grows upwards
    return KeptFace(pixels, mm_per_px, length_mm, width_mm)


def test_a_face_comes_back_from_its_file_nearly_as_it_was() -> None:
    face = a_face()
    back = open_face(as_jpeg(face.pixels))
    assert back.shape == face.pixels.shape
    assert np.abs(back.astype(int) - face.pixels).mean() < 1.5


def test_a_small_view_is_small_and_never_enlarged() -> None:
    assert open_face(small_view(a_face().pixels)).shape[:2] == (48, 480)
    assert open_face(small_view(a_face(100, 50, 1).pixels)).shape[:2] == (50, 100)


def test_bare_wood_leaves_out_cards_flaws_and_the_rim() -> None:
    face = KeptFace(*(getattr(a_face(), name) for name in ("pixels", "mm_per_px", "length_mm", "width_mm")),
                    covered=(BOX,))  # fmt: skip
    wood = bare_wood(face, [((600, 10), (640, 10), (640, 30), (600, 30))], rim_mm=2.0)

    off = (wood == 0).sum() * 0.25  # mm2
    rim = 1000 * 100 - 996 * 96
    assert off == pytest.approx(rim + 100 * 40 + 40 * 20, rel=0.02)
    assert wood[(100 - 40) * 2, 250 * 2] == 0
    assert wood[(100 - 80) * 2, 250 * 2] == 255


def test_a_part_lies_in_its_own_frame() -> None:
    part = cut_out(a_face(), Window(400, 30, 900, 80))

    assert (part.length_mm, part.width_mm, part.pixels.shape[:2]) == (500, 50, (100, 1000))
    whole = a_face().pixels
    assert (part.pixels[-1, 0] == whole[-1 - 60, 800]).all()  # its (0, 0) is the board's (400, 30)


def test_marks_are_drawn_where_they_lie_and_their_words_do_not_cover_each_other() -> None:
    red, blue = (255, 0, 0), (0, 0, 255)
    face = KeptFace(np.full((200, 2000, 3), 128, np.uint8), 0.5, 1000, 100)
    drawn = marked(face, [(":1 crack", BOX, red), (":2 knot", BOX, blue)])

    assert (drawn[(100 - 60) * 2 - 1, 420] == blue).all()  # the later outline lies over the earlier
    words = (drawn == 255).all(axis=2)
    inked = [(drawn == colour).all(axis=2)[:, 610:] for colour in (red, blue)]
    rows = [np.flatnonzero(ink.any(axis=1)) for ink in inked]
    assert words.any()
    assert rows[0].max() < rows[1].min() or rows[1].max() < rows[0].min()


def test_faces_on_a_sheet_are_at_one_scale_however_they_were_photographed() -> None:
    fine, coarse = a_face(2000, 100, 0.4), a_face(1000, 100, 2.0)

    page = sheet([("one", fine, []), ("two", coarse, [])], longest_px=1000)

    dark = (page != 255).any(axis=2)
    lengths = [row.sum() for row in dark if row.sum() > 400]
    assert max(lengths) == pytest.approx(1000, abs=3)
    assert min(lengths) == pytest.approx(500, abs=3)
    assert reduced(fine, 1000).pixels.shape == (50, 1000, 3)
