from decimal import Decimal

from stockyard.timber.supply import Shelf


def test_two_purchases_are_used_at_their_weighted_average() -> None:
    """AASB 102, paragraph 27: the average of what was there and what was bought, weighted by quantity."""
    shelf = Shelf(Decimal(1000) + Decimal(3000), Decimal("12.00") + Decimal("42.00"))

    assert shelf.average == Decimal("0.013500")  # (12 + 42) / 4000
    assert shelf.cost_of(Decimal(500), "AUD") == Decimal("6.75")


def test_the_last_of_it_takes_all_that_is_left_so_that_no_cent_stays_behind() -> None:
    shelf = Shelf(Decimal(3), Decimal("1.00"))
    spent = Decimal(0)
    for _ in range(3):
        cost = shelf.cost_of(Decimal(1), "AUD")
        shelf = Shelf(shelf.quantity - 1, shelf.value - cost)
        spent += cost

    assert (spent, shelf) == (Decimal("1.00"), Shelf(Decimal(0), Decimal("0.00")))


def test_an_empty_shelf_has_no_average() -> None:
    assert Shelf().average is None
