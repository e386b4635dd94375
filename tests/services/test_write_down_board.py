from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.ledger import account_sums, disagreements
from stockyard.records import Yard
from stockyard.services.write_down_board import write_down_board
from stockyard.timber.movement import Account
from tests.stocking import receive


def test_a_board_of_178_93_that_would_sell_for_150_is_carried_at_150(yard: Yard) -> None:
    """Source: worked example COST-07 (computed), on AASB 102 Inventories, paragraph 9."""
    with yard.open_work() as work:
        (board,) = receive(work, value="178.93")
        work.commit()

    lowered = write_down_board(yard.open_work, board, to=Decimal("150.00"), reason="short and sappy")

    assert (lowered.value, lowered.version) == (Decimal("150.00"), 2)
    with yard.open_work(reading=True) as work:
        book = work.movements.all()
        assert account_sums(book)[Account.WRITE_DOWNS] == Decimal("28.93")
        assert disagreements(book, work.stock.shown()) == []


@pytest.mark.parametrize("to", ["48.00", "60.00", "-0.01"])
def test_it_is_never_written_up_nor_below_nothing(sqlite_yard: Yard, to: str) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work, value="48.00")
        work.commit()

    with pytest.raises(BadInput) as caught:
        write_down_board(sqlite_yard.open_work, board, to=Decimal(to), reason="")

    assert [fault.where for fault in caught.value.faults] == ["value", "reason"]


def test_a_value_finer_than_a_cent_is_refused(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work)
        work.commit()

    with pytest.raises(BadInput, match="more than 2 decimals"):
        write_down_board(sqlite_yard.open_work, board, to=Decimal("10.001"), reason="warped")
