"""Four cards say where the face lies when its bench hides it."""

import numpy as np
import pytest

from stockyard.errors import BadInput
from stockyard.photos.carded import covered_px, outline_with_cards
from stockyard.photos.cards import find_cards
from tests.photos.render.board import draw_board
from tests.photos.render.photograph import Photograph, Shot, photograph


def pine_on_ply(cards: tuple[int, ...]) -> Photograph:
    """A pale board on a pale bench."""
    board = draw_board(52, "radiata pine", 1500, 160, mm_per_px=0.5, wanted=("sound_knot",), marks=())
    return photograph(board, "A", Shot((2400, 1800), cards=cards, bench="ply", turn=11.0), seed=4)


def test_a_pale_board_on_a_pale_bench_is_found_by_its_four_cards() -> None:
    photo = pine_on_ply((0, 1, 2, 3))
    outline = outline_with_cards(photo.pixels, find_cards(photo.pixels), (1500, 160))
    for corner in photo.corners_px:
        assert np.linalg.norm(outline.corners_px - corner, axis=1).min() < 3.0


def test_cards_cover_their_own_edges() -> None:
    photo = pine_on_ply((0, 1, 2, 3))
    found = find_cards(photo.pixels)
    for card, cover in zip(found, covered_px(found), strict=True):
        wide = np.linalg.norm(cover[1] - cover[0]) / np.linalg.norm(card.corners_px[1] - card.corners_px[0])
        assert wide == pytest.approx(61 / 40)  # a card of 56 mm and 2.5 mm around it, to a marker of 40 mm


def test_nothing_but_a_bench_is_refused_with_what_to_do() -> None:
    bench = np.random.default_rng(3).integers(90, 96, (600, 800, 3), np.uint8)
    with pytest.raises(BadInput, match="lay marker cards on it"):
        outline_with_cards(bench, (), (1500, 160))
