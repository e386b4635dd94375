from decimal import Decimal

import pytest

from stockyard.errors import BoardNotFree, NotFound, PlanOutOfDate, Refused
from stockyard.ledger import disagreements
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.release_plan import release_plan
from stockyard.timber import DefectKind, Face
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import PieceStatus
from stockyard.timber.step import Before, StepKind, StepState
from tests.builders import a_box
from tests.stocking import a_plan, keep_plan, receive


def planned(yard: Yard, boards: int = 2, treat: str | None = None) -> tuple[int, list[str]]:
    """A plan in the books for that many new boards, each with a crack to stabilise or a void to fill."""
    with yard.open_work(who="Ada") as work:
        numbers = receive(work, boards)
        if treat:
            for number in numbers:
                kind = DefectKind.BARK_INCLUSION if treat == "epoxy" else DefectKind.CRACK
                work.defects.add(number, kind, Face.A, a_box(300, 80, 400, 84), depth_mm=5)
        plan = keep_plan(work, a_plan(numbers, treat))
        work.commit()
    return plan, numbers


def test_every_board_is_promised_and_the_book_says_so(yard: Yard) -> None:
    plan, boards = planned(yard)

    allocate_plan(yard.open_work, plan, who="Bo")

    with yard.open_work(reading=True) as work:
        standing = work.pieces.get_many(boards)
        assert {piece.promised_to for piece in standing.values()} == {plan}
        assert {piece.status for piece in standing.values()} == {PieceStatus.PROMISED}
        assert work.plans.get(plan).status is PlanStatus.ALLOCATED
        (booked,) = work.movements.of_plan(plan)
        assert (booked.kind, booked.who, booked.at) == (MovementKind.ALLOCATE, "Bo", work.now)
        assert [(line.piece, line.promised) for line in booked.lines] == [(number, 1) for number in boards]
        assert disagreements(work.movements.all(), work.stock.shown()) == []


def test_a_plan_is_allocated_once(yard: Yard) -> None:
    plan, _ = planned(yard)
    allocate_plan(yard.open_work, plan)

    with pytest.raises(Refused, match="Plan 1 is allocated already"):
        allocate_plan(yard.open_work, plan)


def test_there_is_no_such_plan(yard: Yard) -> None:
    with pytest.raises(NotFound, match="plan '7'"):
        allocate_plan(yard.open_work, 7)


def test_one_board_promised_elsewhere_keeps_all_free(yard: Yard) -> None:
    first, boards = planned(yard)
    with yard.open_work() as work:
        spare = receive(work)
        second = keep_plan(work, a_plan([boards[1], *spare]))
        work.commit()
    allocate_plan(yard.open_work, first)

    with pytest.raises(BoardNotFree, match=f"{boards[1]} is promised to plan {first}"):
        allocate_plan(yard.open_work, second)

    with yard.open_work(reading=True) as work:
        assert work.pieces.get(spare[0]).promised_to is None
        assert work.plans.get(second).status is PlanStatus.PROPOSED


def test_a_board_that_is_gone_is_named(yard: Yard) -> None:
    plan, boards = planned(yard)
    with yard.open_work() as work:
        gone = work.pieces.get(boards[0])
        line = Line(gone.number, -1, 0, Decimal(0), -gone.volume_mm3)
        work.movements.book(Movement(MovementKind.DISPOSE, (line,), work.today))
        work.commit()

    with pytest.raises(BoardNotFree, match=f"{boards[0]} is no longer on hand"):
        allocate_plan(yard.open_work, plan)


def test_a_remeasured_board_puts_the_plan_out_of_date(yard: Yard) -> None:
    plan, boards = planned(yard)
    with yard.open_work() as work:
        work.pieces.change(boards[0], thickness_mm=30.0)
        work.commit()

    with pytest.raises(PlanOutOfDate, match=f"{boards[0]}: thickness 32 -> 30"):
        allocate_plan(yard.open_work, plan)


def test_a_new_defect_puts_the_plan_out_of_date(yard: Yard) -> None:
    plan, boards = planned(yard)
    with yard.open_work() as work:
        work.defects.add(boards[1], DefectKind.DECAY, Face.B, a_box(0, 0, 50, 50))
        work.commit()

    with pytest.raises(PlanOutOfDate, match=rf"{boards[1]}: defect 1 mapped \(decay\)"):
        allocate_plan(yard.open_work, plan)


def test_a_new_reading_puts_the_plan_out_of_date(yard: Yard) -> None:
    plan, boards = planned(yard)
    with yard.open_work() as work:
        work.readings.add([MoistureReading(boards[0], work.today, 14.0, 15.5)])
        work.commit()

    with pytest.raises(PlanOutOfDate, match=f"{boards[0]}: moisture unknown -> 15.5"):
        allocate_plan(yard.open_work, plan)


def test_moving_a_board_or_promising_it_for_a_while_leaves_plans_good(yard: Yard) -> None:
    first, boards = planned(yard)
    with yard.open_work() as work:
        second = keep_plan(work, a_plan(boards))
        work.pieces.change(boards[0], place="bench", note="leaning on the wall")
        work.commit()
    allocate_plan(yard.open_work, first)
    release_plan(yard.open_work, first)

    allocate_plan(yard.open_work, second)

    with yard.open_work(reading=True) as work:
        assert work.pieces.get(boards[0]).promised_to == second


def test_a_released_plan_can_be_allocated_again(yard: Yard) -> None:
    plan, _ = planned(yard)
    allocate_plan(yard.open_work, plan)
    release_plan(yard.open_work, plan)

    allocate_plan(yard.open_work, plan)

    with yard.open_work(reading=True) as work:
        assert work.plans.get(plan).status is PlanStatus.ALLOCATED


@pytest.mark.parametrize(
    ("method", "kind", "before"),
    [
        ("thin cyanoacrylate", StepKind.STABILISE, Before.CUTTING),
        ("epoxy", StepKind.FILL, Before.FINISHING),
    ],
)
def test_each_treated_defect_opens_a_step(
    sqlite_yard: Yard, method: str, kind: StepKind, before: Before
) -> None:
    plan, boards = planned(sqlite_yard, treat=method)

    steps = allocate_plan(sqlite_yard.open_work, plan)

    assert [(step.defect, step.kind, step.method, step.before, step.state) for step in steps] == [
        (f"{board}/1", kind, method, before, StepState.OPEN) for board in boards
    ]
