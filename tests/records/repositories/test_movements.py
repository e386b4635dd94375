from datetime import timedelta
from decimal import Decimal

import pytest

from stockyard.errors import Broken, NotFound, Refused
from stockyard.ledger import balanced, reversal
from stockyard.records import Yard
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from tests.conftest import NOON
from tests.stocking import a_delivery, receive

DAY = NOON.date()


def test_a_movement_comes_back_as_it_was_booked(yard: Yard) -> None:
    with yard.open_work(now=NOON - timedelta(days=5)) as work:
        (number,) = receive(work)
        work.commit()
    with yard.open_work(who="Ada") as work:
        work.deliveries.add(a_delivery())
        work.jobs.keep("hall-bench", {})
        movement = Movement(
            MovementKind.WRITE_DOWN,
            (
                Line(number, value=Decimal("-5.05")),
                Line(value=Decimal("5.05"), account=Account.JOBS, job="hall-bench"),
            ),
            DAY - timedelta(days=3),
            "sappy",
            supplier="Tallow Creek Mill",
            docket="D-17",
        )
        id_ = work.movements.book(movement)

        back = work.movements.get(id_)

    assert (back.kind, back.lines, back.effective, back.cause) == (
        movement.kind,
        movement.lines,
        movement.effective,
        movement.cause,
    )
    assert (back.supplier, back.docket, back.id, back.at, back.who) == (
        "Tallow Creek Mill",
        "D-17",
        id_,
        NOON,
        "Ada",
    )


def test_what_does_not_balance_is_not_booked(yard: Yard) -> None:
    with yard.open_work() as work:
        (number,) = receive(work)
        with pytest.raises(Broken, match=r"does not balance: 0\.01 too much"):
            work.movements.book(Movement(MovementKind.COUNT, (Line(number, value=Decimal("0.01")),), DAY))

        assert len(work.movements.all()) == 1


def test_a_movement_is_taken_back_once_even_by_two(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work)
        (booked,) = work.movements.all()
        work.movements.book(reversal(booked, DAY, "wrong"))
        assert work.movements.reversed_by(booked.id or 0) == 2
        with pytest.raises(Refused, match="taken back already"):
            work.movements.book(reversal(booked, DAY, "wrong again"))


def test_the_book_can_be_read_up_to_a_day(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        receive(work)
        for days in (5, 1):
            work.movements.book(Movement(MovementKind.COUNT, (), DAY + timedelta(days=days)))

        assert [each.id for each in work.movements.all(DAY)] == [1]
        assert [each.id for each in work.movements.all(DAY + timedelta(days=1))] == [1, 3]


def test_there_is_no_such_movement(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work, pytest.raises(NotFound):
        work.movements.get(7)


def test_a_worth_that_changes_is_in_the_pieces_history(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (number,) = receive(work)
        line, other = Line(number, value=Decimal(-8)), Line(value=Decimal(8), account=Account.WRITE_DOWNS)
        work.movements.book(Movement(MovementKind.WRITE_DOWN, (line, other), DAY, "sappy"))

        (change,) = work.pieces.history(number)

    assert (change.fact, change.old, change.new, change.cause) == ("value", "48.00", "40.00", "sappy")


def test_nothing_of_a_piece_counts_from_a_day_before_its_newest_movement(yard: Yard) -> None:
    """Else it would have gone on some day before it came."""
    with yard.open_work() as work:
        (number,) = receive(work)
        work.commit()
    line = Line(number, -1, 0, Decimal("-48.00"), -2400 * 180 * 32)
    day = NOON.date() - timedelta(days=1)
    gone = Movement(MovementKind.DISPOSE, balanced([line], Account.LOSSES), day, "borers")

    with yard.open_work() as work, pytest.raises(Refused, match=f"{number} has a movement of {NOON.date()}"):
        work.movements.book(gone)
