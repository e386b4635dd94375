from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.prep.treatment import (
    CrackShape,
    TreatmentHabits,
    crack_volume_ml,
    hole_volume_ml,
    resin_mix,
    treatment_needs,
)
from stockyard.timber import DefectKind, Face, Stave, Treatment, Window
from stockyard.timber.step import StepKind
from tests.builders import a_board, a_box, a_defect
from tests.prep.plans import a_plan, a_stave


def test_a_knot_hole_takes_what_was_worked_for_it():
    # 20 mm across and 25 deep, 15 % over, 2:1: 7.85 mL void, 9.03 mixed, 6.02 + 3.01 (computed).
    mix = resin_mix(hole_volume_ml(20, 25), 0.15, (2, 1))

    assert mix.void_ml == pytest.approx(7.85, abs=0.01)
    assert mix.total_ml == pytest.approx(9.03, abs=0.01)
    assert (mix.resin_ml, mix.hardener_ml) == pytest.approx((6.02, 3.01), abs=0.01)
    assert mix.resin_ml + mix.hardener_ml == pytest.approx(mix.total_ml)


def test_a_crack_holds_its_length_times_opening_times_depth_or_half_of_it():
    # 300 x 1.5 x 10 mm: 4.5 mL, V-shaped 2.25 mL (computed).
    assert crack_volume_ml(300, 1.5, 10) == pytest.approx(4.5)
    assert crack_volume_ml(300, 1.5, 10, CrackShape.V) == pytest.approx(2.25)


def test_what_the_cup_keeps_is_mixed_as_well():
    assert resin_mix(10, 0.1, (1, 1), cup_loss_ml=5).total_ml == pytest.approx(16)


@pytest.mark.parametrize(
    "wrong",
    [{"void_ml": 0}, {"void_ml": float("nan")}, {"overfill": -0.1}, {"mix": (0, 1)}, {"cup_loss_ml": -1}],
)
def test_a_mix_of_nothing_is_refused(wrong):
    with pytest.raises(BadInput):
        resin_mix(**({"void_ml": 10} | wrong))


def test_a_crack_of_no_depth_is_refused():
    with pytest.raises(BadInput, match="no volume"):
        crack_volume_ml(300, 1.5, 0)


def needs_of(*defects, staves=None, habits=None, **changes):
    board = a_board(defects=defects, **changes)
    treat = tuple(Treatment(d.id, "as planned", Decimal(1)) for d in defects)
    plan = a_plan(*(staves or [a_stave(treat=treat), a_stave("SG-0002")]))
    return treatment_needs(plan, {"SG-0001": board, "SG-0002": a_board(id="SG-0002")}, habits)


def test_a_measured_crack_is_stabilised_before_jointing_with_its_volume():
    (need,) = needs_of(a_defect(outline=a_box(300, 80, 400, 81), depth_mm=5, opening_mm=0.4))

    assert (need.kind, need.product) == (StepKind.STABILISE, "thin cyanoacrylate")
    assert need.volume_ml == pytest.approx(100 * 0.4 * 5 / 2000)
    assert need.before_jointing
    assert need.side is Face.A
    assert need.mix is None
    assert need.notes == ()


def test_a_wide_crack_takes_a_thicker_grade():
    (need,) = needs_of(a_defect(depth_mm=5, opening_mm=0.8))

    assert need.product == "medium cyanoacrylate"


def test_what_was_not_measured_is_said():
    (need,) = needs_of(a_defect())

    assert [note.split(" was")[0] for note in need.notes] == ["Its depth", "Its opening"]


def test_a_void_is_filled_after_glue_up_from_its_own_face():
    bark = a_defect(kind=DefectKind.BARK_INCLUSION, face=Face.B, outline=a_box(300, 50, 340, 80), depth_mm=5)
    (need,) = needs_of(bark)

    assert (need.kind, need.product, need.side) == (StepKind.FILL, "epoxy", Face.B)
    assert need.volume_ml == pytest.approx(40 * 30 * 5 / 1000)
    assert need.mix.total_ml == pytest.approx(6 * 1.15 + 7.5)
    assert not need.before_jointing
    assert "In layers of 3 mm" in need.instructions


def test_a_void_through_the_board_is_dammed_and_cast_from_the_show_face():
    bark = a_defect(kind=DefectKind.BARK_INCLUSION, face=Face.BOTH, outline=a_box(300, 50, 340, 80))
    (need,) = needs_of(bark)

    assert need.product == "casting epoxy"
    assert need.volume_ml == pytest.approx(40 * 30 * 32 / 1000)
    assert "dam the back" in need.instructions


def test_a_void_near_a_glued_edge_is_filled_before_jointing():
    # The stave's window is 5 to 135 across; as the panel's first stave only its high side is glued.
    high = a_defect(kind=DefectKind.BARK_INCLUSION, outline=a_box(300, 110, 340, 125), depth_mm=3)
    low = a_defect(kind=DefectKind.BARK_INCLUSION, outline=a_box(300, 10, 340, 25), depth_mm=3)

    assert needs_of(high)[0].before_jointing
    assert not needs_of(low)[0].before_jointing


def test_turned_over_the_other_edge_is_the_glued_one():
    low = a_defect(kind=DefectKind.BARK_INCLUSION, outline=a_box(300, 10, 340, 25), depth_mm=3)
    treat = (Treatment(low.id, "epoxy", Decimal(1)),)
    over = replace(a_stave(treat=treat), show=Face.B)

    assert needs_of(low, staves=[over, a_stave("SG-0002")])[0].before_jointing


def test_a_treated_flaw_that_is_not_on_its_board_is_named():
    stave = a_stave(treat=(Treatment("SG-0001/9", "epoxy", Decimal(1)),))

    with pytest.raises(BadInput, match="SG-0001/9"):
        treatment_needs(a_plan(stave), {"SG-0001": a_board()})
    with pytest.raises(BadInput, match="panel top, stave 1"):
        treatment_needs(a_plan(stave), {})


def test_the_defaults_are_the_workshops_habits():
    habits = TreatmentHabits()

    assert (habits.overfill, habits.mix, habits.cup_loss_ml) == (0.15, (2.0, 1.0), 7.5)
    assert (habits.layer_mm, habits.casting_mm) == (
        3.0,
        12.0,
    )  # engineerfix.com (read): 1/8 in and over 12 mm


def test_a_stave_is_where_the_helper_says():
    assert a_stave().finished == Window(35, 5, 1235, 135)
    assert isinstance(a_stave(), Stave)
