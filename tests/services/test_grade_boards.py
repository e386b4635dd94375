import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.grading import AID
from stockyard.records import Yard
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.grade_boards import LISTS, appearance_rules, grade_boards, list_to_fill
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.timber import DefectKind, Face
from tests.services.yards import SPOTTED_GUM, receive

IN, FT = 25.4, 304.8
# 8 in x 12 ft: the NHLA chart asks a clear face for FAS (hooddistribution.com/resources/lumber-grades, read).
EIGHT_BY_TWELVE = f"spotted gum,{12 * FT:.1f},{8 * IN:.1f},32,48.00"


def test_a_clear_board_is_fas_as_far_as_its_map_goes(yard: Yard) -> None:
    receive(yard, EIGHT_BY_TWELVE)

    sheet = grade_boards(yard.open_work, ["SG-0001"])

    (graded,) = sheet.boards
    assert graded.nhla is not None
    assert (graded.grade, graded.nhla.surface_measure, graded.nhla.note) == ("FAS", 8, AID)
    assert "No flaw is on the map of SG-0001" in sheet.notes[0]


def test_the_defect_that_keeps_a_board_down_is_named(yard: Yard) -> None:
    receive(yard, EIGHT_BY_TWELVE)
    add_defect(
        yard.open_work,
        "SG-0001",
        Sketch(kind=DefectKind.UNSOUND_KNOT, face=Face.BOTH, box=(1700, 60, 1900, 140)),
    )

    (graded,) = grade_boards(yard.open_work, ["SG-0001"]).boards

    assert graded.grade != "FAS"
    assert graded.nhla is not None
    assert any("SG-0001/1" in why for why in graded.nhla.why_no_higher)


def test_a_docket_is_graded_as_far_as_it_is_on_hand(yard: Yard) -> None:
    receive(yard, EIGHT_BY_TWELVE, EIGHT_BY_TWELVE, docket="7")
    receive(yard, SPOTTED_GUM, docket="8")

    sheet = grade_boards(yard.open_work, docket="7")

    assert [graded.board.id for graded in sheet.boards] == ["SG-0001", "SG-0002"]
    with pytest.raises(NotFound):
        grade_boards(yard.open_work, docket="9")
    with pytest.raises(BadInput, match="Nothing was named"):
        grade_boards(yard.open_work)


def test_an_appearance_list_says_what_it_does_not_judge(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    add_defect(
        sqlite_yard.open_work, "SG-0001", Sketch(kind=DefectKind.STAIN, face=Face.A, box=(100, 20, 200, 40))
    )
    rules = appearance_rules(
        "ours",
        b"grade,features,surfaces,allowed,words\nFine,crack,best,no,cracks\nRustic,stain,all,no,stain\n",
    )

    (graded,) = grade_boards(sqlite_yard.open_work, ["SG-0001"], rules=rules).boards

    assert graded.appearance is not None
    assert (graded.grade, graded.appearance.not_judged) == ("Fine", ("SG-0001/1",))


def test_what_is_left_once_it_is_flat_and_straight(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    correct_board(sqlite_yard.open_work, "SG-0001", Correction(bow_mm=4, cup_mm=1, spring_mm=6))

    (graded,) = grade_boards(sqlite_yard.open_work, ["SG-0001"]).boards

    # By the workshop's starting habits: 1.5 mm planed off each face, 3 mm jointed off each edge.
    assert graded.thickness_left_mm == 32 - 4 - 1 - 2 * 1.5
    assert graded.width_left_mm == 180 - 6 - 2 * 3


def test_lists_are_shipped_read_and_refused_with_their_faults() -> None:
    for word in LISTS:
        assert appearance_rules(word).grades
        assert appearance_rules("ours", list_to_fill(word).encode()).grades == appearance_rules(word).grades
    with pytest.raises(BadInput, match="no appearance list"):
        appearance_rules("best")
    with pytest.raises(BadInput, match="no appearance list"):
        list_to_fill("best")
    with pytest.raises(BadInput, match="not text"):
        appearance_rules("ours", b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="cannot be used"):
        appearance_rules("ours", b"grade,colour\nPrime,red\n")
