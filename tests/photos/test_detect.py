"""Defects are suggested where they were drawn, and not where there are none."""

import cv2
import numpy as np
import pytest
from shapely import Polygon, box

from stockyard.errors import BadInput
from stockyard.photos.detect import Detection, DetectionSettings, detect, suggest
from stockyard.photos.ground import board_mask
from stockyard.photos.scale import true_scale
from stockyard.photos.trust import TrustLimits
from stockyard.timber import DefectKind
from tests.photos.render.board import DrawnBoard, draw_board
from tests.photos.render.photograph import Shot, photograph

PX_A_MM = 3.0
CLASSICAL = DetectionSettings(reader="classical")
CRACKS = {DefectKind.CRACK, DefectKind.CHECK, DefectKind.SPLIT}


def at_scale(board: DrawnBoard, seed: int = 0) -> np.ndarray:
    """A face as a good picture at 3 px a mm shows it: a little soft, a little noisy."""
    size = (round(board.length_mm * PX_A_MM), round(board.width_mm * PX_A_MM))
    # A lens spreads light, not the file's numbers.
    light = (board.faces["A"].astype(np.float32) / 255) ** 2.2
    small = cv2.GaussianBlur(cv2.resize(light, size, interpolation=cv2.INTER_AREA), (0, 0), 0.6)
    noise = np.random.default_rng(seed).normal(0, 1.5, small.shape)
    return np.clip(255 * small ** (1 / 2.2) + noise, 0, 255).astype(np.uint8)


def read(board: DrawnBoard, **settings: float) -> Detection:
    scale = 1 / PX_A_MM
    asked = DetectionSettings(reader="classical", **settings)
    return detect(at_scale(board), (scale, scale), "horizontal", asked)


def found(board: DrawnBoard, detection: Detection) -> list[tuple[str, bool]]:
    """For each drawn flaw, whether something was suggested within 3 mm of its middle."""
    answers = []
    for truth in board.truths["A"]:
        place = np.array(truth.outline_mm)
        place[:, 1] = board.width_mm - place[:, 1]
        around = box(*(place.min(axis=0) - 3), *(place.max(axis=0) + 3))
        middles = [Polygon(one.outline_px / PX_A_MM).centroid for one in detection.suggestions]
        answers.append((truth.kind, any(around.contains(middle) for middle in middles)))
    return answers


SEEN = [
    (species, draw_board(seed, species, 500, 140, wanted=wanted, marks=("saw", "scratches")))
    for seed, species in (
        (401, "radiata pine"),
        (402, "tasmanian oak"),
        (403, "spotted gum"),
        (404, "black walnut"),
    )
    for wanted in (("crack", "unsound_knot", "bark"), ("checks", "sound_knot", "split"))
]


def test_flaws_are_found_on_pale_and_on_dark_wood() -> None:
    answers = [answer for _, board in SEEN for answer in found(board, read(board))]
    missed = [kind for kind, hit in answers if not hit]
    assert len(missed) <= 0.15 * len(answers), missed


def test_clear_boards_give_few_false_alarms() -> None:
    clear = [
        draw_board(seed, species, 500, 140, wanted=(), marks=("saw", "scratches", "dust", "step"))
        for seed, species in (
            (411, "radiata pine"),
            (412, "tasmanian oak"),
            (413, "jarrah"),
            (414, "white oak"),
        )
    ]
    alarms = sum(len(read(board).suggestions) for board in clear)
    assert alarms <= 0.5 * len(clear)


@pytest.mark.parametrize("species", ["radiata pine", "tasmanian oak", "spotted gum", "black walnut"])
def test_a_crack_of_0_4_mm_and_30_mm_shows_at_3_pixels_a_mm(species: str) -> None:
    from tests.photos.render import flaws
    from tests.photos.render.board import to_rgb
    from tests.photos.render.species import LOOKS
    from tests.photos.render.texture import a_log, clear_wood, grain

    rng = np.random.default_rng(7)
    shape, scale = (800, 2400), 1 / 8
    log = a_log(rng, 300, 100)
    run = grain(log, shape, scale, [])
    canvas = flaws.Canvas(clear_wood(rng, LOOKS[species], log, run, scale, 0), run, scale)
    flaws.crack(canvas, rng, 120, 150, 50, 0.4)
    board = DrawnBoard(species, 300, 100, 30, scale, {"A": to_rgb(canvas.lab)}, {"A": canvas.truths})
    detection = read(board)
    assert found(board, detection) == [("crack", True)]
    crack = next(one for one in detection.suggestions if one.kind in CRACKS)
    assert 15 <= crack.length_mm <= 40  # its ends run out to nothing
    assert crack.opening_mm == pytest.approx(0.4, abs=0.25)


def test_a_turned_picture_reads_the_same() -> None:
    board = SEEN[0][1]
    picture, scale = at_scale(board), 1 / PX_A_MM
    lying = detect(picture, (scale, scale), "horizontal", CLASSICAL)
    standing = detect(np.ascontiguousarray(picture.transpose(1, 0, 2)), (scale, scale), "vertical", CLASSICAL)
    assert [one.kind for one in lying.suggestions] == [one.kind for one in standing.suggestions]
    for one, other in zip(lying.suggestions, standing.suggestions, strict=True):
        left, top, right, bottom = one.box_px
        assert other.box_px == pytest.approx((top, left, bottom, right))
        assert one.confidence == pytest.approx(other.confidence)


def test_outlines_are_polygons_on_the_picture_and_settings_are_kept() -> None:
    detection = read(SEEN[0][1], least_confidence=0.3)
    assert detection.suggestions
    assert detection.settings.least_confidence == 0.3
    for one in detection.suggestions:
        shape = Polygon(one.outline_px)
        assert shape.is_valid
        assert shape.area > 0
        assert one.confidence >= 0.3
        assert one.kind not in one.could_be
        assert one.box_px == pytest.approx(shape.bounds)


@pytest.mark.parametrize("ground", [12, 238])
def test_the_board_is_told_from_a_dark_and_from_a_light_ground(ground: int) -> None:
    face = at_scale(SEEN[2][1])
    picture = np.full((face.shape[0] + 160, face.shape[1], 3), ground, np.uint8)
    picture[80:-80] = face
    mask = board_mask(picture)
    truth = np.zeros(mask.shape, bool)
    truth[80:-80] = True
    shared = (truth & (mask > 0)).sum() / (truth | (mask > 0)).sum()
    assert shared > 0.95


def test_a_picture_all_of_wood_is_all_board() -> None:
    assert board_mask(at_scale(SEEN[2][1])).min() == 255


def test_mapped_places_of_a_photographed_face_are_true_within_3_mm() -> None:
    board = draw_board(77, "tasmanian oak", 1000, 150, wanted=("unsound_knot", "bark"), marks=())
    photo = photograph(board, "A", Shot(size=(2600, 1950), cards=(0, 1, 2, 3), turn=4))
    face = true_scale(photo.pixels, 1000, 150, limits=TrustLimits(finest_mm=3))
    suggestions = suggest(face, CLASSICAL)
    for truth in board.truths["A"]:
        drawn = Polygon(truth.outline_mm)
        nearest = min(Polygon(one.outline).centroid.distance(drawn.centroid) for one in suggestions)
        assert nearest < 3.0, truth.kind


@pytest.mark.parametrize(
    ("picture", "mm", "grain"),
    [
        (np.zeros((100, 100), np.uint8), (0.2, 0.2), "vertical"),
        (np.zeros((4, 4, 3), np.uint8), (0.2, 0.2), "vertical"),
        (np.zeros((100, 100, 3), np.uint8), (0.0, 0.2), "vertical"),
        (np.zeros((100, 100, 3), np.uint8), (0.2, float("nan")), "vertical"),
        (np.zeros((100, 100, 3), np.uint8), (0.2, 0.2), "across"),
    ],
)
def test_what_cannot_be_meant_is_refused(picture: np.ndarray, mm: tuple[float, float], grain: str) -> None:
    with pytest.raises(BadInput):
        detect(picture, mm, grain)  # type: ignore[arg-type]


def test_a_black_picture_and_a_white_one_have_no_defects() -> None:
    for level in (0, 255):
        assert (
            detect(np.full((120, 160, 3), level, np.uint8), (0.3, 0.3), settings=CLASSICAL).suggestions == ()
        )


def test_settings_out_of_range_are_refused() -> None:
    with pytest.raises(BadInput):
        DetectionSettings(least_confidence=0)
    with pytest.raises(BadInput):
        DetectionSettings(least_mm=-1)
