from datetime import date, datetime, time
from itertools import pairwise

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.prep.joints import JointKind
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.habits import set_habits
from stockyard.services.prepare_plan import prepare_plan
from stockyard.services.steps import complete_step
from stockyard.timber import DefectKind, Face
from tests.builders import a_box
from tests.stocking import a_plan, keep_plan, receive


def planned(yard: Yard, treat: str | None = None) -> tuple[int, list[str]]:
    """A panel of two staves of 1200 x 130 mm; where treated, each with a crack, 100 x 0.4 mm, 3 mm deep."""
    with yard.open_work() as work:
        numbers = receive(work, 2)
        if treat:
            for number in numbers:
                box = a_box(300, 80, 400, 84)
                work.defects.add(number, DefectKind.CRACK, Face.A, box, depth_mm=3, opening_mm=0.4)
        plan = keep_plan(work, a_plan(numbers, treat))
        work.commit()
    return plan, numbers


def test_the_order_of_work_runs_from_conditioning_to_the_last_coat(yard: Yard) -> None:
    plan, _ = planned(yard)

    prepared = prepare_plan(yard.open_work, plan, start=date(2026, 3, 9))

    steps = prepared.sheet.steps
    names = list(dict.fromkeys(step.step.name for step in steps))
    assert names == [
        "condition", "dock", "rip", "joint", "slot", "dry fit", "glue", "clean", "flatten", "trim",
        "cut to length", "cut to width", "sand", "finish",
    ]  # fmt: skip
    # The workshop opens at 08:00 on that Monday; the clock's zone is kept.
    assert steps[0].begins.replace(tzinfo=None) == datetime(2026, 3, 9, 8, 0)  # noqa: DTZ001
    assert all(later.begins >= step.free_at for step, later in pairwise(steps))  # of one panel
    assert all(step.begins.time() >= time(8) and step.ends.time() <= time(16, 30) for step in steps)
    assert all(step.begins.weekday() < 5 for step in steps)


def test_cautions_come_with_the_sheet_and_defer_to_labels(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard, treat="thin cyanoacrylate")

    cautions = " ".join(prepare_plan(sqlite_yard.open_work, plan).sheet.cautions)

    for word in ("Guards", "respirator", "Bonds skin", "label", "local rules"):
        assert word in cautions


def test_a_treatment_says_how_much_from_where_and_when(yard: Yard) -> None:
    plan, numbers = planned(yard, treat="thin cyanoacrylate")

    needs = prepare_plan(yard.open_work, plan).sheet.treatments

    assert [need.defect for need in needs] == [f"{number}/1" for number in numbers]
    # Length x opening x depth, halved for a crack that closes to nothing: 100 x 0.4 x 3 / 2 mm3.
    assert needs[0].volume_ml == pytest.approx(0.060)
    assert (needs[0].side, needs[0].before_jointing) == (Face.A, True)


def test_what_the_books_say_is_treated_is_not_asked_for_again(yard: Yard) -> None:
    plan, numbers = planned(yard, treat="thin cyanoacrylate")
    step, _ = allocate_plan(yard.open_work, plan)
    complete_step(yard.open_work, step.id or 0, product="thin CA", batch="7")

    prepared = prepare_plan(yard.open_work, plan)

    assert prepared.done == (step.defect,)
    assert [need.defect for need in prepared.sheet.treatments] == [
        f"{number}/1" for number in numbers if f"{number}/1" != step.defect
    ]


def test_joints_keep_clear_of_a_later_cut(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)

    (panel,) = prepare_plan(sqlite_yard.open_work, plan, later_cuts_mm={"top": [600]}).sheet.panels

    (line,) = panel.joints
    # A biscuit is 56 mm long and keeps 10 mm from a later cut, by the workshop's starting habits.
    assert all(abs(joint.centre_mm - 600) >= 28 + 10 for joint in line.joints)
    assert all(joint.marks_mm == (joint.centre_mm - 30, joint.centre_mm + 30) for joint in line.joints)
    with pytest.raises(BadInput) as refused:
        prepare_plan(sqlite_yard.open_work, plan, later_cuts_mm={"top": [1201], "side": [1]})
    assert len(refused.value.faults) == 2


@pytest.mark.parametrize("joint", list(JointKind))
def test_another_joint_may_be_asked_for(sqlite_yard: Yard, joint: JointKind) -> None:
    plan, _ = planned(sqlite_yard)

    prepared = prepare_plan(sqlite_yard.open_work, plan, joint=joint)

    assert prepared.habits.joints.kind is joint
    (line,) = prepared.sheet.panels[0].joints
    assert bool(line.joints) == (joint in (JointKind.BISCUIT, JointKind.DOWEL))
    assert bool(line.stretches) == (joint is JointKind.SPLINE)


def test_the_workshops_own_figures_are_used_and_named(yard: Yard) -> None:
    plan, _ = planned(yard)
    set_habits(
        yard.open_work, b'{"format": "stockyard.habits/1", "glue": {"pressure_mpa": 1, "clamp_n": 1800}}'
    )

    prepared = prepare_plan(yard.open_work, plan)

    (one,) = prepared.sheet.panels[0].glue_ups
    # 1 MPa on 1220 x 27 mm as glued: 1200 + 2 x 10 mm of end trim, 24 + 2 x 1.5 mm of planing.
    assert one.force_n == pytest.approx(1220 * 27)
    assert one.clamps_by_force == 19
    assert "glue: the workshop's own" in prepared.figures


def test_where_a_plan_stands_is_said_first(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)
    assert "allocate 1" in prepare_plan(sqlite_yard.open_work, plan).notes[0]
    allocate_plan(sqlite_yard.open_work, plan)
    assert "allocate" not in " ".join(prepare_plan(sqlite_yard.open_work, plan).notes)
    with pytest.raises(NotFound):
        prepare_plan(sqlite_yard.open_work, 9)
