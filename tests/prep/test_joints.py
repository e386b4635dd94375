import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.prep.joints import (
    DOWELS,
    SPLINE,
    JointHabits,
    JointKind,
    barred_spans,
    joint_layout,
    positions,
)
from stockyard.timber import Face, MadePanel
from tests.builders import a_board, a_box, a_defect
from tests.prep.plans import a_stave


def boards(*defects):
    return {"SG-0001": a_board(defects=defects), "SG-0002": a_board(id="SG-0002")}


PANEL = MadePanel("top", (a_stave(), a_stave("SG-0002")))


def centres(line):
    return [joint.centre_mm for joint in line.joints]


def test_biscuits_stand_evenly_at_no_more_than_the_pitch():
    (line,) = joint_layout(PANEL, boards())

    # 1200 long, 60 kept at each end: 1080 in four steps of 270.
    assert centres(line) == [60, 330, 600, 870, 1140]
    assert line.joints[0].marks_mm == (30, 90)
    assert line.y_mm == 130
    assert line.notes == ()


def test_a_flaw_at_the_line_pushes_a_joint_aside():
    # In the board frame 630..640 is 595..605 of the stave; 10 clear and half a biscuit keep 557..643 free.
    (line,) = joint_layout(PANEL, boards(a_defect(outline=a_box(630, 120, 640, 130))))

    assert centres(line) == [60, 330, 557, 870, 1140]
    assert (557, 643) in line.clear_of


def test_a_flaw_out_of_reach_does_not_matter():
    (line,) = joint_layout(PANEL, boards(a_defect(outline=a_box(630, 40, 640, 60))))

    assert 600 in centres(line)


def test_a_turned_stave_brings_its_flaw_to_the_other_place():
    flaw = a_defect(outline=a_box(95, 6, 105, 20))  # 60..70 from end 1, at the low edge
    turned = MadePanel("top", (a_stave(turned=True), a_stave("SG-0002")))
    (line,) = joint_layout(turned, boards(flaw))

    # Turned end for end it lies at 1130..1140, and its low edge is the panel's high one.
    assert any(a < 1130 and b == float("inf") for a, b in line.clear_of)
    assert centres(line)[-1] == 1130 - 10 - 28


def test_turned_and_shown_from_behind_the_edge_stays_where_it_was():
    flaw = a_defect(outline=a_box(95, 6, 105, 20))
    both = MadePanel("top", (a_stave(turned=True, show=Face.B), a_stave("SG-0002")))
    (line,) = joint_layout(both, boards(flaw))

    assert centres(line)[-1] == 1140


def test_a_later_cut_is_kept_clear():
    (line,) = joint_layout(PANEL, boards(), later_cuts_mm=[600])

    assert all(abs(c - 600) >= 28 + 10 for c in centres(line))


def test_no_room_at_all_is_said():
    (line,) = joint_layout(PANEL, boards(a_defect(outline=a_box(30, 120, 1240, 130))))

    assert line.joints == ()
    assert "No place" in line.notes[0]


def test_a_stretch_without_room_drops_its_joint_and_says_so():
    (line,) = joint_layout(PANEL, boards(a_defect(outline=a_box(335, 120, 935, 130))))

    assert all(c <= 262 or c >= 938 for c in centres(line))
    assert any("No joint near" in note for note in line.notes)


def test_a_spline_stops_before_the_ends_and_at_flaws():
    (plain,) = joint_layout(PANEL, boards(), SPLINE)
    (stopped,) = joint_layout(PANEL, boards(a_defect(outline=a_box(630, 120, 640, 130))), SPLINE)

    assert plain.stretches == ((60, 1140),)
    assert stopped.stretches == ((60, 585), (615, 1140))
    assert "stopped" in stopped.notes[0]


def test_a_plain_joint_has_none():
    (line,) = joint_layout(PANEL, boards(), JointHabits(JointKind.PLAIN))

    assert line.joints == line.stretches == ()


def test_every_line_of_a_panel_is_laid_out():
    panel = MadePanel("top", (a_stave(), a_stave("SG-0002"), a_stave("SG-0002")))
    first, second = joint_layout(panel, boards(), DOWELS)

    assert (first.between, first.y_mm, second.between, second.y_mm) == ((0, 1), 130, (1, 2), 260)
    assert len(first.joints) == 7  # 1080 mm at no more than 200


def test_a_missing_board_is_named():
    with pytest.raises(BadInput, match="board SG-0002"):
        joint_layout(PANEL, {"SG-0001": a_board()})


def test_a_pitch_shorter_than_a_joint_is_refused():
    with pytest.raises(BadInput, match="overlap"):
        joint_layout(PANEL, boards(), JointHabits(pitch_mm=50))


def test_the_defaults_are_the_workshops_habits():
    habits = JointHabits()

    assert (habits.pitch_mm, habits.end_clear_mm, habits.marks_mm, habits.half_length_mm) == (300, 60, 30, 28)


@settings(max_examples=150, deadline=None)
@given(
    st.floats(300, 2600),
    st.lists(st.tuples(st.floats(0, 2600), st.floats(1, 300)).map(lambda s: (s[0], sum(s))), max_size=5),
    st.lists(st.floats(0, 2600), max_size=2),
)
def test_no_joint_ever_comes_near_what_it_must_keep_from(length, flaws, cuts):
    habits = JointHabits()
    found, notes = positions(length, barred_spans(length, flaws, cuts, habits), habits)
    half = habits.half_length_mm

    for n, centre in enumerate(found):
        assert habits.end_clear_mm - 1e-6 <= centre <= length - habits.end_clear_mm + 1e-6
        assert all(centre + half <= a - 10 + 1e-6 or centre - half >= b + 10 - 1e-6 for a, b in flaws)
        assert all(abs(centre - cut) >= half + 10 - 1e-6 for cut in cuts)
        assert n == 0 or centre - found[n - 1] >= 2 * half
    assert found or notes
