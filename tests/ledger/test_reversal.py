from dataclasses import replace

from stockyard.ledger.fold import Sums, account_sums, fold
from stockyard.ledger.reversal import reversal
from stockyard.timber.movement import Account, MovementKind
from tests.ledger.test_fold import APRIL, BOOK, BOUGHT, MARCH, WRITTEN_DOWN


def test_a_movement_and_its_reversal_add_up_to_nothing() -> None:
    back = reversal(replace(BOUGHT, id=1), APRIL, "wrong docket")

    assert fold([BOUGHT, back])["SG-0001"] == Sums()
    assert set(account_sums([BOUGHT, back]).values()) == {0}
    assert (back.kind, back.reverses, back.cause) == (MovementKind.REVERSE, 1, "wrong docket")


def test_before_the_day_it_counts_from_the_mistake_still_stands() -> None:
    back = reversal(replace(BOUGHT, id=1), APRIL, "wrong docket")

    assert fold([BOUGHT, back], MARCH)["SG-0001"].on_hand == 1


def test_a_write_down_taken_back_restores_the_cost() -> None:
    back = reversal(replace(WRITTEN_DOWN, id=3), WRITTEN_DOWN.effective, "it sells after all")

    sums = account_sums([*BOOK, back])

    assert fold([*BOOK, back])["SG-0001"].value == fold([BOUGHT])["SG-0001"].value
    assert sums[Account.WRITE_DOWNS] == 0
