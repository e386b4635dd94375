from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.records import Yard
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.show_board import show_board
from stockyard.timber import DefectKind, Face
from tests.services.yards import SPOTTED_GUM, receive


def test_a_remeasured_board_changes_volume_and_never_worth(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    correct_board(yard.open_work, "SG-0001", Correction(width_mm=176), "measured at the bench")
    piece = show_board(yard.open_work, "SG-0001").piece
    assert piece.volume_mm3 == 2400 * 176 * 32
    assert piece.value == Decimal("48.00")


def test_what_it_was_stays_on_record_with_why(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    correct_board(yard.open_work, "SG-0001", Correction(bow_mm=4, heart_face=Face.B), "sighted along it")
    changes = {change.fact: change for change in show_board(yard.open_work, "SG-0001").changes}
    assert (changes["bow_mm"].old, changes["bow_mm"].new) == (0, 4)
    assert changes["heart_face"].cause == "sighted along it"


def test_moving_boards_leaves_plans_as_they_are(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    before = show_board(yard.open_work, "SG-0001").piece
    move_boards(yard.open_work, ("SG-0001",), "rack 2")
    after = show_board(yard.open_work, "SG-0001").piece
    assert (after.place, after.version) == ("rack 2", before.version)


@pytest.mark.parametrize(
    "correction",
    [
        Correction(length_mm=0),
        Correction(width_mm=-3),
        Correction(thickness_mm=601),
        Correction(length_mm=float("nan")),
        Correction(bow_mm=-1),
        Correction(heart_face=Face.BOTH),
        Correction(colour_a=(101, 0, 0)),
        Correction(),
    ],
)
def test_impossible_figures_are_refused(yard: Yard, correction: Correction) -> None:
    receive(yard, SPOTTED_GUM)
    with pytest.raises(BadInput):
        correct_board(yard.open_work, "SG-0001", correction)
    assert show_board(yard.open_work, "SG-0001").changes == ()


def test_a_board_cannot_become_smaller_than_its_map(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    add_defect(
        yard.open_work, "SG-0001", Sketch(kind=DefectKind.WANE, face=Face.A, box=(2300, 160, 2400, 180))
    )
    with pytest.raises(BadInput, match="SG-0001/1"):
        correct_board(yard.open_work, "SG-0001", Correction(length_mm=2350))


def test_how_a_board_was_sawn_is_kept_and_leaves_plans_as_they_are(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    before = show_board(yard.open_work, "SG-0001").piece
    correct_board(yard.open_work, "SG-0001", Correction(ring_angle_deg=35), "looked at its end")
    sheet = show_board(yard.open_work, "SG-0001")
    assert (before.ring_angle_deg, sheet.piece.ring_angle_deg) == (None, 35)
    assert sheet.piece.version == before.version
    assert [(change.fact, change.new) for change in sheet.changes] == [("ring_angle_deg", 35)]
    correct_board(yard.open_work, "SG-0001", Correction(rings_unknown=True), "could not tell after all")
    assert show_board(yard.open_work, "SG-0001").piece.ring_angle_deg is None
    for angle in (-1, 91, float("nan")):
        with pytest.raises(BadInput, match="0 to 90 degrees"):
            correct_board(yard.open_work, "SG-0001", Correction(ring_angle_deg=angle))
