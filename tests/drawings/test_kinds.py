import pytest

from stockyard.drawings.kinds import depth_words, keyed, range_words, shown, size_words, spoken
from stockyard.timber import DefectKind, Face
from tests.builders import a_box, a_defect


def test_defects_are_keyed_from_end_1_with_the_letter_of_their_kind():
    far = a_defect(id="far", kind=DefectKind.SOUND_KNOT, outline=a_box(900, 10, 930, 40))
    near = a_defect(id="near", outline=a_box(100, 10, 200, 14))

    assert [(key, defect.id) for key, defect in keyed([far, near])] == [("C1", "near"), ("N2", "far")]


@pytest.mark.parametrize(
    ("length", "words"), [(145.0, "145"), (0.4, "0.4"), (190.55, "190.6"), (2400, "2400")]
)
def test_lengths_are_written_with_at_most_one_decimal(length, words):
    assert shown(length) == words


def test_what_is_thinner_than_a_millimetre_has_one_place():
    assert range_words(310, 455) == "310 – 455"
    assert range_words(140.9, 141.1) == "141"


def test_size_and_depth_are_put_into_words():
    crack = a_defect(depth_mm=3, opening_mm=0.4)

    assert size_words(crack) == "100 × 4"
    assert depth_words(crack) == "3 deep, open 0.4"
    assert depth_words(a_defect()) == ""


def test_the_depth_of_a_through_defect_is_not_said():
    assert depth_words(a_defect(face=Face.BOTH, depth_mm=3)) == ""


def test_a_defect_can_be_said_aloud():
    assert spoken(a_defect(face=Face.BOTH, kind=DefectKind.BARK_INCLUSION)) == (
        "bark inclusion through both faces, 300 to 400 mm from end 1, 80 to 84 mm from edge 1"
    )
