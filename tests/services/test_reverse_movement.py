from decimal import Decimal

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.ledger import disagreements
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.steps import list_steps
from stockyard.services.write_down_board import write_down_board
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.movement import Movement
from stockyard.timber.piece import PieceStatus
from tests.services.test_allocate_plan import planned
from tests.stocking import a_delivery, receive


def last_movement(yard: Yard) -> Movement:
    with yard.open_work(reading=True) as work:
        return work.movements.all()[-1]


def number_of_last(yard: Yard) -> int:
    return last_movement(yard).id or 0


def proved(yard: Yard) -> bool:
    with yard.open_work(reading=True) as work:
        return disagreements(work.movements.all(), work.stock.shown()) == []


def test_a_disposal_taken_back_brings_the_board_back(yard: Yard) -> None:
    _, (board, _) = planned(yard)
    dispose_board(yard.open_work, board, reason="borers")

    reverse_movement(yard.open_work, number_of_last(yard), reason="the wrong board")

    with yard.open_work(reading=True) as work:
        back = work.pieces.get(board)
    assert (back.status, back.value, back.ended_by) == (PieceStatus.FREE, Decimal("48.00"), None)
    assert proved(yard)


def test_a_write_down_taken_back_restores_the_cost(sqlite_yard: Yard) -> None:
    _, (board, _) = planned(sqlite_yard)
    write_down_board(sqlite_yard.open_work, board, to=Decimal("40.00"), reason="sappy")

    reverse_movement(sqlite_yard.open_work, number_of_last(sqlite_yard), reason="it sells")

    with sqlite_yard.open_work(reading=True) as work:
        assert work.pieces.get(board).value == Decimal("48.00")


def test_a_receipt_taken_back_lets_the_docket_come_again(yard: Yard) -> None:
    with yard.open_work() as work:
        work.deliveries.add(a_delivery())
        receive(work, 3, supplier="Tallow Creek Mill", delivery="D-17")
        work.commit()

    reverse_movement(yard.open_work, number_of_last(yard), reason="tally of another mill")

    with yard.open_work() as work:
        assert work.pieces.find() == []
        assert work.deliveries.find("Tallow Creek Mill", "D-17") is None
        work.deliveries.add(a_delivery())
        assert receive(work, 1, supplier="Tallow Creek Mill", delivery="D-17") == ["SG-0004"]
        work.commit()
    assert proved(yard)


def test_a_cut_taken_back_makes_the_boards_whole_and_promised(yard: Yard) -> None:
    plan, boards = planned(yard, treat="epoxy")
    allocate_plan(yard.open_work, plan)
    record = cut_plan(yard.open_work, plan)

    reverse_movement(yard.open_work, record.movement, reason="not cut yet")

    with yard.open_work(reading=True) as work:
        assert work.plans.get(plan).status is PlanStatus.ALLOCATED
        assert {each.promised_to for each in work.pieces.get_many(boards).values()} == {plan}
        children = [piece.number for piece in record.pieces]
        assert {each.on_hand for each in work.pieces.get_many(children).values()} == {False}
    assert [step.defect for step in list_steps(yard.open_work)] == [f"{board}/1" for board in boards]
    assert proved(yard)
    assert cut_plan(yard.open_work, plan).value_in == record.value_in


def test_what_was_built_on_must_be_undone_first(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)
    allocate_plan(sqlite_yard.open_work, plan)
    record = cut_plan(sqlite_yard.open_work, plan)
    offcut = record.offcuts[0].number
    dispose_board(sqlite_yard.open_work, offcut, reason="burnt")

    with pytest.raises(Refused, match=f"{offcut} changed after it"):
        reverse_movement(sqlite_yard.open_work, record.movement, reason="not cut yet")

    assert proved(sqlite_yard)


def test_nothing_is_taken_back_twice_or_without_a_reason(sqlite_yard: Yard) -> None:
    _, (board, _) = planned(sqlite_yard)
    dispose_board(sqlite_yard.open_work, board, reason="borers")
    disposal = number_of_last(sqlite_yard)
    with pytest.raises(BadInput, match="reason"):
        reverse_movement(sqlite_yard.open_work, disposal, reason="")
    reverse_movement(sqlite_yard.open_work, disposal, reason="wrong one")

    with pytest.raises(Refused, match="taken back already, by movement 3"):
        reverse_movement(sqlite_yard.open_work, disposal, reason="wrong one")


def test_a_promise_is_released_not_reversed(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)
    allocate_plan(sqlite_yard.open_work, plan)

    with pytest.raises(Refused, match="release its plan instead"):
        reverse_movement(sqlite_yard.open_work, number_of_last(sqlite_yard), reason="no")
