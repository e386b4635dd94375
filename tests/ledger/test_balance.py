from datetime import date
from decimal import Decimal

from stockyard.ledger.balance import balanced, imbalance
from stockyard.timber.movement import Account, Line, Movement, MovementKind

DAY = date(2026, 3, 2)


def test_a_line_for_the_other_side_makes_a_movement_balance() -> None:
    lines = balanced(
        [Line("SG-0001", 1, 0, Decimal("10.01")), Line("SG-0002", 1, 0, Decimal("9.99"))], Account.SUPPLIERS
    )

    assert lines[-1] == Line(value=Decimal("-20.00"), account=Account.SUPPLIERS)
    assert imbalance(Movement(MovementKind.RECEIVE, lines, DAY)) == 0


def test_what_moves_no_value_needs_no_other_side() -> None:
    lines = [Line("SG-0001", promised=1)]

    assert balanced(lines, Account.SUPPLIERS) == tuple(lines)


def test_an_unbalanced_movement_says_by_how_much() -> None:
    movement = Movement(MovementKind.RECEIVE, (Line("SG-0001", 1, 0, Decimal("0.01")),), DAY)

    assert imbalance(movement) == Decimal("0.01")


def test_a_job_is_named_on_its_side() -> None:
    *_, other = balanced([Line("SG-0001", value=Decimal("-5.00"))], Account.JOBS, "hall-bench")

    assert (other.job, other.value) == ("hall-bench", Decimal("5.00"))
