from decimal import Decimal

import pytest

from stockyard.errors import BadInput, BoardNotFree
from stockyard.ledger import account_sums, disagreements
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.timber.movement import Account, MovementKind
from stockyard.timber.piece import PieceStatus
from tests.services.test_allocate_plan import planned
from tests.stocking import receive


def one_board(yard: Yard) -> str:
    with yard.open_work() as work:
        (board,) = receive(work)
        work.commit()
    return board


def test_a_disposed_board_is_gone_and_its_value_is_a_loss(yard: Yard) -> None:
    board = one_board(yard)

    gone = dispose_board(yard.open_work, board, reason="borers", who="Bo")

    assert (gone.status, gone.value, gone.volume_mm3) == (PieceStatus.GONE, 0, 0)
    assert gone.ended_by is MovementKind.DISPOSE
    with yard.open_work(reading=True) as work:
        book = work.movements.all()
        assert (book[-1].cause, book[-1].who) == ("borers", "Bo")
        assert account_sums(book)[Account.LOSSES] == Decimal("48.00")
        assert disagreements(book, work.stock.shown()) == []


def test_a_board_is_disposed_of_once_and_for_a_reason(sqlite_yard: Yard) -> None:
    board = one_board(sqlite_yard)
    with pytest.raises(BadInput, match="reason"):
        dispose_board(sqlite_yard.open_work, board, reason=" ")
    dispose_board(sqlite_yard.open_work, board, reason="borers")

    with pytest.raises(BoardNotFree, match="no longer on hand"):
        dispose_board(sqlite_yard.open_work, board, reason="borers")


def test_a_promised_board_stays(sqlite_yard: Yard) -> None:
    plan, (board, _) = planned(sqlite_yard)
    allocate_plan(sqlite_yard.open_work, plan)

    with pytest.raises(BoardNotFree, match=f"promised to plan {plan}"):
        dispose_board(sqlite_yard.open_work, board, reason="borers")
