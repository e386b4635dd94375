"""A photograph is put to scale in the board's frame, or refused with the reason."""

from functools import cache

import cv2
import numpy as np
import pytest
from skimage.transform import ProjectiveTransform

from stockyard.errors import BadInput
from stockyard.photos.cards import MARKER_MM, find_cards
from stockyard.photos.plane import four_point_map, frame_of
from stockyard.photos.scale import Side, TrueFace, Way, true_scale
from stockyard.photos.trust import TrustLimits
from stockyard.timber import Face
from tests.photos.render.board import DrawnBoard, draw_board
from tests.photos.render.photograph import Photograph, Shot, photograph

# At this picture size a pixel is over a millimetre: enough to find sides by, not to find fine cracks.
EASY = TrustLimits(finest_mm=4.0)


@cache
def the_board() -> DrawnBoard:
    return draw_board(
        31, "tasmanian oak", 2400, 180, mm_per_px=0.6, wanted=("crack", "sound_knot"), faces=("A", "B")
    )


@cache
def a_photo(face: str = "A", seed: int = 1, **shot: object) -> Photograph:
    return photograph(the_board(), face, Shot(**({"size": (2400, 1800)} | shot)), seed=seed)


def errors_mm(photo: Photograph, laid: TrueFace) -> np.ndarray:
    """How far known points of the face are from where the map puts them."""
    x, y = np.meshgrid([0, 300, 1200, 2100, 2400], [0, 90, 180])
    known = np.column_stack([x.ravel(), y.ravel()]).astype(float)
    return np.linalg.norm(laid.plane.to_board(photo.to_px(known)) - known, axis=1)


# 2 mm with cards and 4 mm with the outline alone, on a board of 2.4 m: what is asked of a photograph.
@pytest.mark.parametrize("turn", [-14.0, 8.0, 93.0, 178.0])
def test_cards_place_every_point_of_a_long_board_within_2_mm_whichever_way_it_lies(turn: float) -> None:
    photo = a_photo(cards=(0, 1, 2, 3), turn=turn, lens=(0.008, 0.0))
    laid = true_scale(photo.pixels, 2400, 180, limits=EASY)
    assert laid.way is Way.CARDS
    assert laid.cards == (0, 1, 2, 3)
    assert errors_mm(photo, laid).max() < 2.0
    assert abs(laid.disagrees_pct[0]) < 1.0


@pytest.mark.parametrize("bench", ["mat", "concrete", "slate"])
def test_the_outline_alone_places_every_point_within_4_mm(bench: str) -> None:
    photo = a_photo(bench=bench, turn=6.0, shadow=0.3)
    laid = true_scale(photo.pixels, 2400, 180, limits=EASY)
    assert laid.way is Way.OUTLINE
    assert errors_mm(photo, laid).max() < 4.0
    assert laid.seen_mm_per_px[0] == pytest.approx(2400 / np.ptp(photo.corners_px[:, 0]), rel=0.06)


def test_four_corners_by_hand_need_no_bench_nor_cards() -> None:
    photo = a_photo()
    laid = true_scale(photo.pixels, 2400, 180, corners_px=photo.corners_px[[2, 0, 3, 1]], limits=EASY)
    assert laid.way is Way.CORNERS
    assert errors_mm(photo, laid).max() < 0.1


def test_end_1_is_where_it_is_said_to_be() -> None:
    photo = a_photo(turn=178.0)
    laid = true_scale(photo.pixels, 2400, 180, end1=Side.RIGHT, limits=EASY)
    assert errors_mm(photo, laid).max() < 4.0


def test_face_b_is_mirrored_into_the_boards_frame() -> None:
    photo = a_photo("B", turn=5.0)
    laid = true_scale(photo.pixels, 2400, 180, Face.B, limits=EASY)
    assert errors_mm(photo, laid).max() < 4.0
    drawn = cv2.resize(the_board().faces["B"], laid.pixels.shape[1::-1], interpolation=cv2.INTER_AREA)
    alike = np.corrcoef(drawn[..., 1].ravel(), laid.pixels[..., 1].ravel())[0, 1]
    upside_down = np.corrcoef(drawn[::-1, :, 1].ravel(), laid.pixels[..., 1].ravel())[0, 1]
    assert alike > upside_down + 0.1


def test_cards_laid_as_on_the_other_face_are_told() -> None:
    photo = a_photo("B", cards=(0, 1, 2, 3))
    with pytest.raises(BadInput, match="face B"):
        true_scale(photo.pixels, 2400, 180, Face.A, limits=EASY)


def test_cards_of_another_print_size_are_told_by_the_boards_size_disagreeing() -> None:
    photo = a_photo(cards=(0, 1, 2, 3))
    with pytest.raises(BadInput, match="printed at 100 %"):
        true_scale(photo.pixels, 2400, 180, limits=EASY, marker_mm=MARKER_MM * 0.94)


def test_another_boards_size_is_told() -> None:
    with pytest.raises(BadInput, match="logged size"):
        true_scale(a_photo().pixels, 1900, 180, limits=EASY)
    with pytest.raises(BadInput, match="in length"):
        true_scale(a_photo(cards=(0, 1, 2, 3)).pixels, 2250, 180, limits=EASY)


@pytest.mark.parametrize(
    ("shot", "says"),
    [
        ({"blur_px": 5.0}, "blur"),
        ({"fill": 1.6, "look_at": 0.35}, "runs out of the picture"),
    ],
)
def test_a_picture_that_cannot_be_trusted_is_refused_with_what_to_do(
    shot: dict[str, object], says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        true_scale(a_photo(**shot).pixels, 2400, 180, limits=EASY)


def test_burnt_out_light_on_the_face_is_refused() -> None:
    """Corners by hand: a board half lost in light is not found by its outline either."""
    photo = a_photo(glare=3.0)
    with pytest.raises(BadInput, match="glare"):
        true_scale(photo.pixels, 2400, 180, corners_px=photo.corners_px, limits=EASY)


def test_too_few_pixels_a_millimetre_are_refused() -> None:
    with pytest.raises(BadInput, match="pixels a mm"):
        true_scale(a_photo(size=(1200, 900)).pixels, 2400, 180)


def test_two_boards_no_board_and_a_cat_are_refused() -> None:
    bench = np.full((600, 800, 3), 60, np.uint8) + np.random.default_rng(1).integers(
        0, 6, (600, 800, 3), np.uint8
    )
    two = bench.copy()
    two[150:220, 80:720] = two[350:420, 80:720] = (190, 150, 100)
    with pytest.raises(BadInput, match="two boards"):
        true_scale(two, 2400, 180)
    with pytest.raises(BadInput, match="No board"):
        true_scale(bench, 2400, 180)
    cat = bench.copy()
    cv2.circle(cat, (400, 330), 120, (190, 140, 90), -1)
    for ear in (-1, 1):
        cv2.fillPoly(
            cat,
            [np.array([(400 + ear * 40, 230), (400 + ear * 115, 140), (400 + ear * 118, 290)])],
            (190, 140, 90),
        )
    cv2.ellipse(cat, (560, 480), (170, 26), 25, 0, 360, (190, 140, 90), -1)
    with pytest.raises(BadInput, match="shape of a board"):
        true_scale(cat, 2400, 180)


def test_impossible_corners_are_refused() -> None:
    pixels = a_photo().pixels
    for corners, says in [
        (np.array([(0, 0), (10, 0), (10, 10)]), "Four corners"),
        (np.array([(0, 0), (9000, 0), (9000, 90), (0, 90)]), "off the picture"),
        (np.array([(100, 100), (500, 100), (300, 100), (700, 100)]), "four-sided"),
    ]:
        with pytest.raises(BadInput, match=says):
            true_scale(pixels, 2400, 180, corners_px=corners.astype(float))


def test_the_map_of_four_points_is_the_one_scikit_image_finds() -> None:
    seen = np.array([(210.0, 900.0), (1850.0, 840.0), (1790.0, 520.0), (260.0, 560.0)])
    board = np.array([(0.0, 0.0), (2400.0, 0.0), (2400.0, 180.0), (0.0, 180.0)])
    ours = four_point_map(seen, board, (1500, 2000))
    theirs = ProjectiveTransform.from_estimate(seen, board)
    asked = np.random.default_rng(4).uniform((200, 500), (1800, 900), (60, 2))
    assert ours.to_board(asked) == pytest.approx(theirs(asked), abs=1e-6)
    assert ours.to_picture(ours.to_board(asked)) == pytest.approx(asked, abs=1e-6)


def test_card_poses_agree_with_opencvs_own_pose_of_a_square() -> None:
    """solvePnP with the camera's true lens, against where the fitted map puts each marker."""
    photo = a_photo(cards=(0, 1, 2, 3), turn=-8.0)
    laid = true_scale(photo.pixels, 2400, 180, limits=EASY)
    (middle, _), half = frame_of(photo.pixels.shape), MARKER_MM / 2
    camera = photo.camera
    lens = np.array([[camera.focal_px, 0, middle[0]], [0, camera.focal_px, middle[1]], [0, 0, 1]])
    square = np.array([(-half, half, 0), (half, half, 0), (half, -half, 0), (-half, -half, 0)])
    places = []
    for card in find_cards(photo.pixels):
        ok, _, move = cv2.solvePnP(square, card.corners_px, lens, None, flags=cv2.SOLVEPNP_IPPE_SQUARE)
        assert ok
        places.append((laid.plane.to_board(card.middle_px)[0], move.ravel()))
    for here, there in [(0, 1), (0, 2), (1, 3), (2, 3)]:
        ours = np.linalg.norm(places[here][0] - places[there][0])
        theirs = np.linalg.norm(places[here][1] - places[there][1])
        # Each pose alone knows its distance to the camera to about half a per cent.
        assert ours == pytest.approx(theirs, rel=0.02, abs=4)
