from datetime import UTC, date, datetime

import pytest

from stockyard.errors import Broken
from stockyard.records import Yard
from tests.conftest import NOON
from tests.stocking import receive


def test_what_is_committed_stays_and_the_rest_is_forgotten(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 2)
        work.commit()
        receive(work, 3)

    with yard.open_work(reading=True) as work:
        assert work.pieces.count() == 2


def test_an_error_forgets_everything(yard: Yard) -> None:
    def fail() -> None:
        with yard.open_work() as work:
            receive(work)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()

    with yard.open_work(reading=True) as work:
        assert work.pieces.count() == 0
        assert work.movements.all() == []


def test_numbers_that_were_forgotten_are_given_again(yard: Yard) -> None:
    with yard.open_work() as work:
        assert receive(work, 2) == ["SG-0001", "SG-0002"]

    with yard.open_work() as work:
        assert receive(work) == ["SG-0001"]


def test_everything_is_signed_with_one_moment_and_one_name(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work(who="Ada") as work:
        receive(work)
        work.commit()

    with sqlite_yard.open_work(reading=True) as work:
        (movement,) = work.movements.all()
    assert (movement.at, movement.who) == (NOON, "Ada")


def test_today_is_the_workshops_date_not_greenwichs(sqlite_yard: Yard) -> None:
    """9 in the morning of the 2nd in Brisbane is 11 at night of the 1st in Greenwich."""
    morning = NOON.replace(hour=9)

    with sqlite_yard.open_work(now=morning) as work:
        assert work.today == date(2026, 3, 2)
        assert work.now.astimezone(UTC).date() == date(2026, 3, 1)


def test_a_clock_without_a_zone_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(Broken, match="time zone"):
        sqlite_yard.open_work(now=datetime(2026, 3, 2, 12))  # noqa: DTZ001


def test_it_is_used_inside_its_with(sqlite_yard: Yard) -> None:
    work = sqlite_yard.open_work()

    with pytest.raises(Broken, match="inside its `with`"):
        work.pieces.find()
