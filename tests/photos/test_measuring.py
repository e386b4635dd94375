"""Sizes as EN 1309-3 asks: a knot's two diameters, a check's length and width, a rectangle around bark.

The extract of EN 1310:1997 that was read (freestandardsdownload.com) measures knots on the face, bark pockets
by the length and width of an enclosing rectangle; the labelled cases are rendered, their sizes exact.
"""

from functools import cache

import numpy as np
import pytest
from shapely import Polygon

from stockyard.photos.detect import Suggestion
from tests.photos.render import flaws
from tests.photos.render.board import DrawnBoard, draw_board, to_rgb
from tests.photos.render.flaws import Truth
from tests.photos.render.species import LOOKS
from tests.photos.render.texture import a_log, clear_wood, grain
from tests.photos.test_detect import PX_A_MM, read

SPECIES = ("tasmanian oak", "spotted gum", "black walnut", "jarrah", "white oak")


@cache
def met(species: str, wanted: str) -> tuple[tuple[Truth, Suggestion], ...]:
    """Each labelled flaw of a face with the suggestion that shares most with it."""
    board = draw_board(421 + SPECIES.index(species), species, 400, 140, wanted=(wanted,), marks=())
    return matched(board)


def matched(board: DrawnBoard) -> tuple[tuple[Truth, Suggestion], ...]:
    pairs = []
    suggestions = read(board).suggestions
    for truth in board.truths["A"]:
        place = np.array(truth.outline_mm)
        place[:, 1] = board.width_mm - place[:, 1]
        shape = Polygon(place).buffer(1.0)
        areas = [Polygon(one.outline_px / PX_A_MM).intersection(shape).area for one in suggestions]
        assert max(areas, default=0) > 0, truth.kind
        pairs.append((truth, suggestions[int(np.argmax(areas))]))
    return tuple(pairs)


def size_mm(truth: Truth) -> tuple[float, float]:
    along, across = np.ptp(np.array(truth.outline_mm), axis=0)
    return float(along), float(across)


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize("kind", ["sound_knot", "unsound_knot"])
def test_a_knots_two_diameters(species: str, kind: str) -> None:
    for truth, one in met(species, kind):
        along, across = size_mm(truth)
        assert one.width_mm == pytest.approx(across, abs=2.0)
        assert one.length_mm == pytest.approx(along, abs=6.0)  # the parting grain before and behind it counts


@pytest.mark.parametrize("species", SPECIES)
def test_the_rectangle_around_a_bark_pocket(species: str) -> None:
    for truth, one in met(species, "bark"):
        along, across = size_mm(truth)
        assert one.length_mm == pytest.approx(along, rel=0.15)
        assert one.width_mm == pytest.approx(across, abs=2.5)


@pytest.mark.parametrize("species", SPECIES)
@pytest.mark.parametrize(("length_mm", "opening_mm"), [(40.0, 0.5), (90.0, 1.0)])
def test_a_checks_length_and_width(species: str, length_mm: float, opening_mm: float) -> None:
    rng = np.random.default_rng(31)
    shape, scale = (640, 1600), 1 / 8
    log = a_log(rng, 200, 80)
    run = grain(log, shape, scale, [])
    canvas = flaws.Canvas(clear_wood(rng, LOOKS[species], log, run, scale, 0), run, scale)
    flaws.crack(canvas, rng, 60, 60 + length_mm, 40, opening_mm, "check")
    board = DrawnBoard(species, 200, 80, 30, scale, {"A": to_rgb(canvas.lab)}, {"A": canvas.truths})
    ((truth, one),) = matched(board)
    half = len(truth.outline_mm) // 2
    drawn = np.array(truth.outline_mm)
    wide = drawn[:half, 1] - drawn[half:, 1][::-1]
    shown = drawn[:half, 0][wide > 0.25]  # its ends run out to nothing
    assert 0.75 * float(np.ptp(shown)) <= one.length_mm <= 1.25 * length_mm
    assert one.opening_mm == pytest.approx(float(np.percentile(wide, 75)), abs=0.3)
