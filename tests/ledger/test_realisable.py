"""Lower of cost and net realisable value, worked examples COST-07 and -08 after AASB 102, paragraph 9."""

from decimal import Decimal

from stockyard.ledger.realisable import carried


def test_a_board_that_would_sell_for_less_than_it_cost_is_carried_at_that() -> None:
    assert carried(Decimal("178.93"), Decimal("150")) == Decimal("150.00")
    assert Decimal("178.93") - carried(Decimal("178.93"), Decimal("150")) == Decimal("28.93")


def test_a_board_that_would_sell_for_more_stays_at_cost() -> None:
    assert carried(Decimal("92.41"), Decimal("120")) == Decimal("92.41")
