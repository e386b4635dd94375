"""A look, its shape and its place make the trade's kind."""

import numpy as np
import pytest

from stockyard.photos.kinds import Traits, judge
from stockyard.photos.regions import FEATURES, LOOKS, Region
from stockyard.timber import DefectKind as Kind


def likely(**shares: float) -> dict[str, float]:
    return {look: shares.get(look, 0.0) for look in LOOKS}


def traits(
    length_mm: float = 40,
    width_mm: float = 10,
    at_end: bool = False,
    at_edge: bool = False,
    edge: float = 0.0,
) -> Traits:
    return Traits(length_mm, width_mm, 0.7 * length_mm * width_mm, at_end, at_edge, edge)


@pytest.mark.parametrize(
    ("shares", "place", "kind"),
    [
        ({"crack": 0.9}, traits(120, 1), Kind.CRACK),
        ({"crack": 0.9}, traits(120, 1, at_end=True), Kind.SPLIT),
        ({"resin": 0.9}, traits(150, 2), Kind.GUM_VEIN),
        ({"resin": 0.9}, traits(25, 6), Kind.GUM_POCKET),
        ({"bark": 0.9}, traits(30, 8), Kind.BARK_INCLUSION),
        ({"bark": 0.9}, traits(300, 8, at_edge=True, edge=0.8), Kind.WANE),
        ({"unsound_knot": 0.9}, traits(18, 16), Kind.UNSOUND_KNOT),
        ({"unsound_knot": 0.9}, traits(2.5, 2.2), Kind.BORER_HOLE),
        ({"unsound_knot": 0.9}, traits(200, 9, at_edge=True, edge=0.9), Kind.WANE),
        ({"sound_knot": 0.9}, traits(18, 16), Kind.SOUND_KNOT),
        ({"pith": 0.9}, traits(200, 4), Kind.PITH),
        ({"stain": 0.9}, traits(90, 30), Kind.STAIN),
    ],
)
def test_the_likeliest_look_is_named_by_its_shape_and_place(
    shares: dict[str, float], place: Traits, kind: Kind
) -> None:
    assert judge(likely(**shares), place)[0] is kind


def test_a_short_crack_may_be_a_check_and_a_long_one_not() -> None:
    assert judge(likely(crack=0.9), traits(35, 1)) == (Kind.CRACK, (Kind.CHECK,))
    assert judge(likely(crack=0.9), traits(90, 1)) == (Kind.CRACK, ())


def test_what_else_it_may_be_comes_likeliest_first_and_the_unlikely_is_left_out() -> None:
    kind, others = judge(likely(crack=0.5, resin=0.3, pith=0.1, bark=0.01), traits(120, 2))
    assert kind is Kind.CRACK
    assert others == (Kind.GUM_VEIN, Kind.GUM_POCKET, Kind.PITH)


def region(rows: slice, columns: slice) -> Region:
    at = np.mgrid[rows, columns].reshape(2, -1)
    return Region("line", at[0], at[1], np.zeros(len(FEATURES), np.float32))


def test_an_end_and_an_edge_are_reached_where_ground_is_seen_and_not_where_the_picture_stops() -> None:
    mask = np.zeros((100, 200), np.uint8)
    mask[10:90, 20:] = 255  # ground above, below and to the left; the board runs on to the right
    at_end = Traits.of(region(slice(40, 42), slice(21, 60)), mask, (1.0, 1.0), 39, 2, 78)
    at_edge = Traits.of(region(slice(10, 13), slice(80, 140)), mask, (1.0, 1.0), 60, 3, 180)
    at_rim = Traits.of(region(slice(40, 42), slice(150, 200)), mask, (1.0, 1.0), 50, 2, 100)
    assert (at_end.at_end, at_end.at_edge) == (True, False)
    assert (at_edge.at_end, at_edge.at_edge, at_edge.edge_share) == (False, True, 1.0)
    assert (at_rim.at_end, at_rim.at_edge) == (False, False)
