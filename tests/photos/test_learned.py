"""The learned reader finds what was drawn, once, and says what a picture's scale hides."""

import numpy as np
import pytest
from shapely import Polygon

from stockyard.photos.detect import CRACKED, Detection, DetectionSettings, detect
from stockyard.photos.learned import scale_notes
from tests.photos.render.board import DrawnBoard, draw_board
from tests.photos.test_detect import PX_A_MM, SEEN, at_scale, found

SCALE = (1 / PX_A_MM, 1 / PX_A_MM)


def read(board: DrawnBoard, reader: str = "learned") -> Detection:
    return detect(at_scale(board), SCALE, "horizontal", DetectionSettings(reader=reader))


READ = [(board, read(board)) for _, board in SEEN]


def test_flaws_are_found_on_pale_and_on_dark_wood() -> None:
    answers = [answer for board, detection in READ for answer in found(board, detection)]
    missed = [kind for kind, hit in answers if not hit]
    assert len(missed) <= 0.15 * len(answers), missed


def test_no_place_is_told_twice() -> None:
    for _, detection in READ:
        outlines = [Polygon(one.outline_px) for one in detection.suggestions]
        for k, one in enumerate(outlines):
            assert one.is_valid
            for other in outlines[k + 1 :]:
                assert one.intersection(other).area < 0.5 * min(one.area, other.area)


def test_a_crack_across_the_border_of_two_pieces_is_told_once() -> None:
    """Pieces are at most 768 pixels, 384 mm; a crack of 200 mm is laid over where the first one ends."""
    from tests.photos.render import flaws
    from tests.photos.render.board import to_rgb
    from tests.photos.render.species import LOOKS
    from tests.photos.render.texture import a_log, clear_wood, grain

    rng = np.random.default_rng(5)
    shape, scale = (320, 2800), 1 / 4
    log = a_log(rng, 700, 80)
    run = grain(log, shape, scale, [])
    canvas = flaws.Canvas(clear_wood(rng, LOOKS["spotted gum"], log, run, scale, 0), run, scale)
    flaws.crack(canvas, rng, 280, 480, 40, 1.0)
    board = DrawnBoard("spotted gum", 700, 80, 30, scale, {"A": to_rgb(canvas.lab)}, {"A": canvas.truths})
    cracks = [one for one in read(board).suggestions if one.kind in CRACKED]
    assert len(cracks) == 1
    assert cracks[0].length_mm == pytest.approx(200, abs=25)
    assert cracks[0].opening_mm == pytest.approx(1.0, abs=0.4)


def test_clear_boards_give_few_false_alarms() -> None:
    clear = [
        draw_board(seed, species, 400, 140, wanted=(), marks=("saw", "scratches", "dust", "step"))
        for seed, species in (
            (421, "radiata pine"),
            (422, "tasmanian oak"),
            (423, "jarrah"),
            (424, "white oak"),
        )
    ]
    assert sum(len(read(board).suggestions) for board in clear) <= 2


def test_both_readers_tell_all_that_the_learned_one_does() -> None:
    board, learned = READ[0]
    both = read(board, "both")
    told = {one.box_px for one in both.suggestions}
    assert {one.box_px for one in learned.suggestions} <= told
    assert both.reader == "both"
    assert ";" in both.fitted
    sure = [one.confidence for one in both.suggestions]
    assert sure == sorted(sure, reverse=True)


def test_a_coarse_or_uneven_picture_is_said_to_be_so() -> None:
    assert scale_notes((1 / 3, 1 / 3)) == ()
    assert scale_notes((0.07, 0.13)) == ()
    (coarse,) = scale_notes((0.8, 0.8))
    assert "coarse" in coarse
    (uneven,) = scale_notes((0.1, 0.4))
    assert "4.0 times as long" in uneven


def test_a_reader_that_there_is_not_is_refused() -> None:
    from stockyard.errors import BadInput

    with pytest.raises(BadInput, match="learned, classical, both"):
        DetectionSettings(reader="tarot")  # type: ignore[arg-type]
