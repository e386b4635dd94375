from dataclasses import replace

from stockyard.services.treatment_steps import treatment_steps
from stockyard.timber import Defect, DefectKind, Face
from stockyard.timber.mapped_defect import DefectState, MappedDefect
from stockyard.timber.step import Before, Step, StepKind
from tests.builders import a_board, a_box, a_defect
from tests.stocking import a_plan

CRACK = a_defect(id="SG-0001/1", depth_mm=5.0, opening_mm=0.3)
BARK = a_defect(id="SG-0001/1", kind=DefectKind.BARK_INCLUSION, depth_mm=5.0)


def steps_for(defect: Defect, method: str, state: DefectState = DefectState.OPEN) -> tuple[Step, ...]:
    """The steps of a plan of two staves; the first, from SG-0001, is glued along y = 135 of its board."""
    boards = {"SG-0001": a_board(defects=(defect,)), "SG-0002": a_board(id="SG-0002")}
    plan = a_plan(boards, method)
    maps = {"SG-0001": [MappedDefect("SG-0001", defect, state)]}
    return treatment_steps(plan, 3, maps, boards)


def test_a_crack_is_held_together_before_the_saw_can_open_it() -> None:
    (step,) = steps_for(CRACK, "thin cyanoacrylate")

    assert (step.plan, step.piece, step.defect) == (3, "SG-0001", "SG-0001/1")
    assert (step.kind, step.method, step.before) == (
        StepKind.STABILISE,
        "thin cyanoacrylate",
        Before.CUTTING,
    )


def test_a_void_away_from_the_glue_waits_for_finishing() -> None:
    (step,) = steps_for(BARK, "epoxy")

    assert (step.kind, step.before) == (StepKind.FILL, Before.FINISHING)


def test_a_void_near_a_glued_edge_is_filled_before_glue_up() -> None:
    (step,) = steps_for(replace(BARK, outline=a_box(300, 122, 400, 126)), "epoxy")

    assert step.before is Before.GLUE_UP


def test_how_much_epoxy_a_void_takes_is_what_is_mixed_for_it() -> None:
    """100 x 4 mm, 5 mm deep is 2 mL; the defaults are 15 % more and 7.5 mL lost to the cup."""
    (step,) = steps_for(BARK, "epoxy")

    assert step.quantity == "9.8 mL epoxy"


def test_what_was_treated_before_needs_no_step() -> None:
    assert steps_for(BARK, "epoxy", state=DefectState.FILLED) == ()
    assert steps_for(CRACK, "thin cyanoacrylate", state=DefectState.STABILISED) == ()


def test_a_defect_that_two_staves_share_needs_one_step() -> None:
    board = a_board(defects=(CRACK,))
    plan = a_plan(["SG-0001"], "thin cyanoacrylate")
    (panel,) = plan.panels
    shared = replace(plan, panels=(replace(panel, staves=panel.staves * 2),))

    steps = treatment_steps(shared, 1, {"SG-0001": [MappedDefect("SG-0001", CRACK)]}, {"SG-0001": board})

    assert len(steps) == 1


def test_a_defect_off_the_map_needs_no_step() -> None:
    assert treatment_steps(a_plan(["SG-0001"], "epoxy"), 1, {}, {"SG-0001": a_board()}) == ()


def test_the_far_face_is_treated_too() -> None:
    (step,) = steps_for(replace(CRACK, face=Face.B), "thin cyanoacrylate")

    assert step.kind is StepKind.STABILISE
