from datetime import timedelta

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.steps import complete_step, list_steps
from stockyard.timber.mapped_defect import DefectState
from stockyard.timber.step import StepState
from tests.conftest import NOON
from tests.services.test_allocate_plan import planned


def test_a_done_step_says_with_what_when_and_by_whom(yard: Yard) -> None:
    plan, boards = planned(yard, treat="thin cyanoacrylate")
    first, second = allocate_plan(yard.open_work, plan)
    day = NOON.date() - timedelta(days=1)

    step = complete_step(
        yard.open_work, first.id or 0, product="thin CA", batch="2291", done_on=day, done_by="Cy"
    )

    assert (step.state, step.product, step.batch, step.done_on, step.done_by) == (
        StepState.DONE,
        "thin CA",
        "2291",
        day,
        "Cy",
    )
    assert list_steps(yard.open_work) == [second]
    with yard.open_work(reading=True) as work:
        before, after = work.defects.history(f"{boards[0]}/1")
        assert (before.state, after.state) == (DefectState.OPEN, DefectState.STABILISED)
        assert after.cause == f"step {first.id}: thin CA, batch 2291"


def test_an_epoxy_step_leaves_the_defect_filled(sqlite_yard: Yard) -> None:
    plan, boards = planned(sqlite_yard, 1, treat="epoxy")
    (step,) = allocate_plan(sqlite_yard.open_work, plan)

    complete_step(sqlite_yard.open_work, step.id or 0, product="clear epoxy")

    with sqlite_yard.open_work(reading=True) as work:
        assert work.defects.get(f"{boards[0]}/1").state is DefectState.FILLED


def test_a_step_is_done_once(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard, 1, treat="epoxy")
    (step,) = allocate_plan(sqlite_yard.open_work, plan)
    complete_step(sqlite_yard.open_work, step.id or 0, product="clear epoxy")

    with pytest.raises(Refused, match="is done already"):
        complete_step(sqlite_yard.open_work, step.id or 0, product="clear epoxy")


def test_every_fault_of_what_is_noted_is_told_together(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard, 1, treat="epoxy")
    (step,) = allocate_plan(sqlite_yard.open_work, plan)

    with pytest.raises(BadInput) as caught:
        complete_step(
            sqlite_yard.open_work, step.id or 0, product=" ", done_on=NOON.date() + timedelta(days=1)
        )

    assert [fault.where for fault in caught.value.faults] == ["product", "date"]
    assert list_steps(sqlite_yard.open_work) == [step]


def test_there_is_no_such_step_plan_or_piece(sqlite_yard: Yard) -> None:
    with pytest.raises(NotFound):
        complete_step(sqlite_yard.open_work, 9, product="thin CA")
    with pytest.raises(NotFound):
        list_steps(sqlite_yard.open_work, plan=9)
    with pytest.raises(NotFound):
        list_steps(sqlite_yard.open_work, piece="SG-0009")


def test_a_piece_has_its_steps(sqlite_yard: Yard) -> None:
    plan, boards = planned(sqlite_yard, treat="epoxy")
    first, _ = allocate_plan(sqlite_yard.open_work, plan)

    assert list_steps(sqlite_yard.open_work, piece=boards[0], only_open=False) == [first]
