from dataclasses import replace
from decimal import Decimal

from stockyard.ledger.agreement import disagreements
from stockyard.ledger.fold import Sums, fold
from stockyard.timber.movement import Line, Movement, MovementKind
from tests.ledger.test_fold import BOOK, BOUGHT, MARCH


def test_a_sound_book_is_proved() -> None:
    assert disagreements(BOOK, fold(BOOK)) == []


def test_a_piece_that_shows_something_else_is_named() -> None:
    shown = {"SG-0001": replace(fold(BOOK)["SG-0001"], value=Decimal("150.01"))}

    (found,) = disagreements(BOOK, shown)

    assert found.where == "SG-0001"
    assert "shows 1 on hand, 1 promised, value 150.01" in str(found)
    assert "add up to 1 on hand, 1 promised, value 150.00" in str(found)


def test_a_piece_that_is_missing_is_named() -> None:
    assert [each.where for each in disagreements(BOOK, {})] == ["SG-0001"]


def test_a_piece_that_no_movement_brought_must_show_nothing() -> None:
    shown = {**fold(BOOK), "SG-0002": Sums(), "SG-0003": Sums(on_hand=1)}

    assert [each.where for each in disagreements(BOOK, shown)] == ["SG-0003"]


def test_a_movement_that_does_not_balance_is_named() -> None:
    lopsided = Movement(MovementKind.COUNT, (Line("SG-0001", value=Decimal(1)),), MARCH, id=12)

    found = disagreements([*BOOK, lopsided], fold([*BOOK, lopsided]))

    assert [each.where for each in found] == ["movement 12"]


def test_a_piece_on_hand_twice_is_named_though_it_agrees() -> None:
    twice = [BOUGHT, replace(BOUGHT, id=2)]

    assert [each.where for each in disagreements(twice, fold(twice))] == ["SG-0001"]
