from datetime import date
from decimal import Decimal

from stockyard.ledger.balance import balanced
from stockyard.ledger.fold import Sums, account_sums, fold
from stockyard.timber.movement import Account, Line, Movement, MovementKind

MARCH, APRIL, MAY = date(2026, 3, 2), date(2026, 4, 2), date(2026, 5, 2)
BOARD_MM3 = 24_000_000

BOUGHT = Movement(
    MovementKind.RECEIVE,
    balanced([Line("SG-0001", 1, 0, Decimal("178.93"), BOARD_MM3)], Account.SUPPLIERS),
    MARCH,
)
PROMISED = Movement(MovementKind.ALLOCATE, (Line("SG-0001", promised=1),), APRIL, plan=1)
WRITTEN_DOWN = Movement(
    MovementKind.WRITE_DOWN,
    balanced([Line("SG-0001", value=Decimal("-28.93"))], Account.WRITE_DOWNS),
    MAY,
)
BOOK = [BOUGHT, PROMISED, WRITTEN_DOWN]


def test_a_board_bought_and_written_down_carries_what_it_would_sell_for() -> None:
    """Cost 178.93, net realisable value 150: carried at 150.00, written down by 28.93.

    Source: worked example COST-07 (computed), on AASB 102 Inventories, paragraph 9.
    """
    assert fold(BOOK)["SG-0001"] == Sums(1, 1, Decimal("150.00"), BOARD_MM3)


def test_on_an_earlier_date_what_came_later_has_not_happened() -> None:
    assert fold(BOOK, MARCH)["SG-0001"] == Sums(1, 0, Decimal("178.93"), BOARD_MM3)
    assert fold(BOOK, APRIL)["SG-0001"] == Sums(1, 1, Decimal("178.93"), BOARD_MM3)
    assert fold(BOOK, date(2026, 3, 1)) == {}


def test_the_order_of_booking_does_not_matter() -> None:
    assert fold(reversed(BOOK)) == fold(BOOK)


def test_accounts_say_where_value_came_from_and_went() -> None:
    sums = account_sums(BOOK)

    assert sums[Account.STOCK] == Decimal("150.00")
    assert sums[Account.SUPPLIERS] == Decimal("-178.93")
    assert sums[Account.WRITE_DOWNS] == Decimal("28.93")
    assert sum(sums.values()) == 0
    assert account_sums(BOOK, MARCH)[Account.WRITE_DOWNS] == 0
