import pytest

from stockyard.errors import Refused
from stockyard.ledger import disagreements
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.release_plan import release_plan
from stockyard.services.steps import complete_step
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.mapped_defect import DefectState
from stockyard.timber.step import StepState
from tests.services.test_allocate_plan import planned


def test_the_boards_are_free_again(yard: Yard) -> None:
    plan, boards = planned(yard)
    allocate_plan(yard.open_work, plan)

    released = release_plan(yard.open_work, plan)

    assert released.status is PlanStatus.RELEASED
    with yard.open_work(reading=True) as work:
        assert {piece.promised_to for piece in work.pieces.get_many(boards).values()} == {None}
        assert disagreements(work.movements.all(), work.stock.shown()) == []


def test_open_steps_are_dropped_and_what_was_done_stays_done(sqlite_yard: Yard) -> None:
    plan, boards = planned(sqlite_yard, treat="thin cyanoacrylate")
    first, _ = allocate_plan(sqlite_yard.open_work, plan)
    complete_step(sqlite_yard.open_work, first.id or 0, product="thin CA")

    release_plan(sqlite_yard.open_work, plan)

    with sqlite_yard.open_work(reading=True) as work:
        assert [step.state for step in work.steps.find(plan=plan)] == [StepState.DONE, StepState.DROPPED]
        assert work.defects.get(f"{boards[0]}/1").state is DefectState.STABILISED


def test_only_an_allocated_plan_can_be_released(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)

    with pytest.raises(Refused, match="Plan 1 is proposed, not allocated"):
        release_plan(sqlite_yard.open_work, plan)
