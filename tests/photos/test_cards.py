"""Marker cards are found where they lie, whichever way round, and printed at their true size."""

import base64
import re
import zlib

import cv2
import numpy as np
import pytest

from stockyard.errors import BadInput
from stockyard.photos.card_sheet import card_sheet
from stockyard.photos.cards import CARD_MM, MARKER_MM, STATIONS, CornerCard, card_picture, find_cards

_SQUARE = r"([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re f"


def laid(card_id: int, quarter: int) -> np.ndarray:
    """A card in the middle of a grey picture, turned."""
    picture = np.full((500, 700, 3), 90, np.uint8)
    card = np.rot90(card_picture(card_id, 4.0), quarter)
    picture[100 : 100 + card.shape[0], 200 : 200 + card.shape[1]] = card[..., None]
    return picture


@pytest.mark.parametrize("card_id", [*(int(card) for card in CornerCard), STATIONS[0], STATIONS[-1]])
def test_a_card_is_known_and_placed_any_way_round(card_id: int) -> None:
    inset = (CARD_MM - MARKER_MM) / 2 * 4
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * MARKER_MM * 4 + (200 + inset, 100 + inset) - 0.5
    for quarter in range(4):
        (card,) = find_cards(laid(card_id, quarter))
        assert card.id == card_id
        # Turned by quarters to the left, its printed top left is one corner further back.
        assert card.corners_px == pytest.approx(np.roll(square, quarter, axis=0), abs=0.6)


def test_a_card_face_down_or_seen_twice_tells_nothing() -> None:
    assert find_cards(np.ascontiguousarray(laid(1, 0)[:, ::-1])) == ()
    assert find_cards(np.hstack([laid(1, 0), laid(1, 0)])) == ()


def test_corner_cards_name_their_place() -> None:
    assert [(card.end, card.edge, card.says) for card in CornerCard] == [
        (1, 1, "END 1 EDGE 1"),
        (1, 2, "END 1 EDGE 2"),
        (2, 1, "END 2 EDGE 1"),
        (2, 2, "END 2 EDGE 2"),
    ]


def drawing_orders(pdf: bytes) -> str:
    """The text of every page's drawing orders."""
    found = []
    for packed in re.findall(rb"stream\r?\n(.*?)endstream", pdf, re.DOTALL):
        found.append(zlib.decompress(base64.a85decode(packed.strip().removesuffix(b"~>"))))
    return b"\n".join(found).decode("latin-1")


def test_the_sheet_prints_markers_of_40_mm_and_a_ruler_of_150_mm() -> None:
    pdf = card_sheet([0, 1])
    orders = drawing_orders(pdf)
    assert pdf.startswith(b"%PDF")
    assert "END 1 EDGE 2" in orders
    scales = [float(one) for one in re.findall(r"([\d.]+) 0 0 [\d.]+ 0 0 cm", orders)]
    assert scales[-1] == pytest.approx(72 / 25.4, abs=1e-4)  # one unit is a millimetre: 72 points an inch
    black = [
        tuple(map(float, four)) for four in re.findall(r"([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) re f", orders)
    ]
    first = [square for square in black if square[0] < 15 + CARD_MM]
    left, right = min(s[0] for s in first), max(s[0] + s[2] for s in first)
    assert right - left == pytest.approx(MARKER_MM, abs=0.05)
    ticks = [float(x) for x in re.findall(r"([\d.]+) [\d.]+ m [\d.]+ [\d.]+ l S", orders)]
    assert max(ticks) - min(ticks) == pytest.approx(150, abs=0.01)


def test_a_printed_page_is_found_again() -> None:
    """The sheet's own squares, drawn from its orders at 200 dots an inch, are cards to the finder."""
    orders = drawing_orders(card_sheet([0, 3, 12]))
    page = np.full((2339, 1654, 3), 255, np.uint8)
    dots = 200 / 25.4
    for x, y, w, h in re.findall(_SQUARE, orders):
        left, low = float(x) * dots, (297 - float(y)) * dots
        corner = (
            (round(left), round(low - float(h) * dots)),
            (round(left + float(w) * dots) - 1, round(low) - 1),
        )
        cv2.rectangle(page, *corner, (0, 0, 0), -1)
    assert [card.id for card in find_cards(page)] == [0, 3, 12]


def test_cards_that_do_not_exist_are_refused() -> None:
    for ids in ([7], [0, 49], []):
        with pytest.raises(BadInput, match="corner cards are 0 to 3"):
            card_sheet(ids)
