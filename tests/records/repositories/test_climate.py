from datetime import timedelta

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.moisture.climate import AirReading
from stockyard.records import Yard
from stockyard.timber.climate_log import ClimatePlace
from tests.conftest import NOON

BRISBANE = "Australia/Brisbane"


def air(hours: float = 0, temperature_c: float = 22.0, humidity: float = 0.55) -> AirReading:
    return AirReading(NOON - timedelta(hours=hours), temperature_c, humidity)


def test_what_is_logged_is_read_back_in_order_with_its_source(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        work.climate.keep_place("shop", BRISBANE)
        added = work.climate.add(
            "Shop", [air(1), air(3)], source="july.csv", zone="Australia/Sydney", note="two rows left out"
        )
        work.commit()

    with yard.open_work(reading=True) as work:
        assert (added.new, added.repeated) == (2, 0)
        assert work.climate.places() == (ClimatePlace("shop", BRISBANE),)
        assert [r.at for r in work.climate.readings("SHOP")] == [NOON - timedelta(hours=h) for h in (3, 1)]
        assert work.climate.readings("shop", since=NOON - timedelta(hours=2)) == (air(1),)
        (log,) = work.climate.logs("shop")
    assert (log.source, log.zone, log.note, log.who, log.at) == (
        "july.csv",
        "Australia/Sydney",
        "two rows left out",
        "Ada",
        NOON,
    )
    assert (log.readings, log.first, log.last) == (2, NOON - timedelta(hours=3), NOON - timedelta(hours=1))


def test_a_reading_known_already_is_not_added_again(yard: Yard) -> None:
    with yard.open_work() as work:
        work.climate.keep_place("shop", BRISBANE)
        work.climate.add("shop", [air(1)], source="a.csv", zone=BRISBANE)

        again = work.climate.add("shop", [air(2), air(1)], source="b.csv", zone=BRISBANE)

        assert (again.new, again.repeated) == (1, 1)
        assert len(work.climate.readings("shop")) == 2


def test_another_reading_of_the_same_moment_is_refused_until_the_first_is_taken_back(yard: Yard) -> None:
    with yard.open_work() as work:
        work.climate.keep_place("shop", BRISBANE)
        first = work.climate.add("shop", [air(1)], source="a.csv", zone=BRISBANE)
        with pytest.raises(BadInput, match=r"22 °C and 55 % as logged before, found 31 °C and 55 %"):
            work.climate.add("shop", [air(1, temperature_c=31)], source="b.csv", zone=BRISBANE)

        assert work.climate.void(first.log, cause="the wrong file") == "shop"
        work.climate.add("shop", [air(1, temperature_c=31)], source="b.csv", zone=BRISBANE)

        assert [reading.temperature_c for reading in work.climate.readings("shop")] == [31]
        assert [log.void for log in work.climate.logs("shop")] == ["the wrong file", None]
        with pytest.raises(Refused, match="taken back already"):
            work.climate.void(first.log, cause="again")


def test_two_places_may_be_read_at_one_moment(yard: Yard) -> None:
    with yard.open_work() as work:
        for place in ("shop", "hall"):
            work.climate.keep_place(place, BRISBANE)
            work.climate.add(place, [air(1)], source="by hand", zone=BRISBANE)

        assert len(work.climate.readings("hall")) == 1


def test_a_place_keeps_the_zone_it_was_first_given(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        work.climate.keep_place("shop", BRISBANE)
        assert work.climate.keep_place("Shop", "Australia/Perth").zone == BRISBANE


def test_there_is_no_such_place_or_log(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        work.climate.keep_place("hall", BRISBANE)
        with pytest.raises(NotFound, match="Did you mean hall"):
            work.climate.readings("hal")
        with pytest.raises(NotFound):
            work.climate.void(7, cause="none")
