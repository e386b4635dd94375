"""The lens and the plane agree with OpenCV's own camera, and their fit with what was drawn."""

import cv2
import numpy as np
import pytest

from stockyard.photos.plane import Seen, fit_plane, four_point_map, frame_of, undistorted

SHAPE = (1500, 2000, 3)
BOARD = np.array([(0.0, 0.0), (900.0, 0.0), (900.0, 150.0), (0.0, 150.0)])
CORNERS = np.array([(210.0, 1100.0), (1850.0, 1040.0), (1790.0, 620.0), (260.0, 660.0)])


@pytest.mark.parametrize("lens", [-0.06, -0.01, 0.0, 0.02, 0.08])
def test_a_lens_is_undone_as_opencv_undoes_it(lens: float) -> None:
    (u, v), unit = frame_of(SHAPE)
    camera = np.array([[unit, 0, u], [0, unit, v], [0, 0, 1]])
    seen = np.random.default_rng(1).uniform((0, 0), (2000, 1500), (50, 2))
    stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-12)
    theirs = cv2.undistortPoints(
        seen.reshape(-1, 1, 2), camera, np.array([lens, 0, 0, 0]), R=None, P=None, criteria=stop
    )
    assert undistorted(seen, (u, v), unit, lens) == pytest.approx(theirs.reshape(-1, 2), abs=1e-7)


def test_there_and_back_through_a_lens_is_where_one_began() -> None:
    plane = four_point_map(CORNERS, BOARD, SHAPE, lens=0.03)
    points = np.random.default_rng(2).uniform((0, 0), (900, 150), (40, 2))
    assert plane.to_board(plane.to_picture(points)) == pytest.approx(points, abs=1e-6)
    assert plane.to_board(CORNERS) == pytest.approx(BOARD, abs=1e-6)


def test_markers_and_edges_tell_the_lens_the_plane_and_the_boards_size() -> None:
    """From a first map that knows no lens and takes the board for 30 mm longer than it is."""
    truth = four_point_map(CORNERS, BOARD, SHAPE, lens=0.02)
    square = np.array([(-20, 20), (20, 20), (20, -20), (-20, -20)], float)
    places = [(45, 40), (60, 110), (850, 45), (845, 112)]
    squares = tuple(truth.to_picture(square + place) for place in places)
    t = np.linspace(0.03, 0.97, 60)[:, None]
    one, two, three, four = (
        truth.to_picture(BOARD[k] + t * (BOARD[(k + 1) % 4] - BOARD[k])) for k in range(4)
    )
    start = four_point_map(CORNERS, BOARD * (930 / 900, 1), SHAPE)
    plane, size, error_px = fit_plane(start, Seen(squares, 40.0, (one, two, three, four)), (930.0, 150.0))
    # A lens is believed to be nearly none until shown otherwise: a little is kept back.
    assert size == pytest.approx((900, 150), abs=0.6)
    assert plane.lens == pytest.approx(0.02, abs=0.004)
    assert error_px < 0.05
    assert plane.to_board(CORNERS) == pytest.approx(BOARD, abs=0.6)
