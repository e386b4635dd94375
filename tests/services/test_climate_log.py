from datetime import datetime, timedelta

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.services.climate_log import (
    add_air,
    import_climate,
    list_places,
    show_climate,
    take_back_log,
)
from tests.conftest import NOON

BRISBANE, SYDNEY = "Australia/Brisbane", "Australia/Sydney"
HEADER = "Time,Temperature (°C),Humidity (%RH)\n"


def logger(*rows: str) -> bytes:
    return (HEADER + "\n".join(rows) + "\n").encode()


def test_air_read_by_hand_is_kept_with_who_and_when(yard: Yard) -> None:
    logged = add_air(yard.open_work, "shop", 21, 55, zone=BRISBANE, note="by the bench")

    assert (logged.new, logged.log.source, logged.log.note, logged.log.first) == (
        1,
        "by hand",
        "by the bench",
        NOON,
    )
    sheet = show_climate(yard.open_work, "Shop")
    assert (sheet.readings, sheet.place.zone) == (1, BRISBANE)
    # Equation (4-5) of the Wood Handbook at 20 °C and 50 %, printed by a public fact sheet as 9.27.
    add_air(yard.open_work, "room", 20, 50)
    assert show_climate(yard.open_work, "room").months[0].emc_pct == pytest.approx(9.271, abs=0.001)


def test_a_share_and_fahrenheit_are_named_for_what_they_are(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        add_air(sqlite_yard.open_work, "shop", 70, 0.5, zone=BRISBANE)

    assert "If that was Fahrenheit, it is 21.1 °C." in refused.value.message
    assert "If that was a share, write 50." in refused.value.message
    assert [fault.where for fault in refused.value.faults] == ["temperature", "humidity"]
    assert list_places(sqlite_yard.open_work) == ()


@pytest.mark.parametrize(
    ("temperature", "humidity"), [(float("nan"), 50), (-40, 50), (20, 101), (20, 0), (20, -5)]
)
def test_improbable_air_is_not_written_down(sqlite_yard: Yard, temperature: float, humidity: float) -> None:
    with pytest.raises(BadInput):
        add_air(sqlite_yard.open_work, "shop", temperature, humidity, zone=BRISBANE)
    assert list_places(sqlite_yard.open_work) == ()


def test_a_first_log_says_its_zone_and_later_places_take_that_of_the_shop(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput, match="which time zone is not known"):
        add_air(sqlite_yard.open_work, "shop", 21, 55)
    with pytest.raises(BadInput, match="zone"):
        add_air(sqlite_yard.open_work, "shop", 21, 55, zone="Australia/Atlantis")
    add_air(sqlite_yard.open_work, "shop", 21, 55, zone=BRISBANE)
    add_air(sqlite_yard.open_work, "hall", 23, 45)

    assert [(place.name, place.zone) for place in list_places(sqlite_yard.open_work)] == [
        ("hall", BRISBANE),
        ("shop", BRISBANE),
    ]


def test_a_time_to_come_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput, match="a time up to now"):
        add_air(sqlite_yard.open_work, "shop", 21, 55, zone=BRISBANE, at=NOON + timedelta(minutes=1))
    with pytest.raises(BadInput, match="a time not after"):
        import_climate(
            sqlite_yard.open_work, "shop", logger("2026-03-02 12:30,21,55"), "a.csv", zone=BRISBANE
        )


def test_a_bare_time_is_told_in_the_zone_of_the_place(sqlite_yard: Yard) -> None:
    # A naive time on purpose: it is what a person types.
    bare = datetime(2026, 1, 15, 8, 0)  # noqa: DTZ001
    logged = add_air(sqlite_yard.open_work, "shop", 21, 55, zone=SYDNEY, at=bare)

    assert logged.log.first is not None
    assert logged.log.first.isoformat() == "2026-01-14T21:00:00+00:00"


def test_a_loggers_file_is_kept_with_its_name_and_what_was_odd_about_it(yard: Yard) -> None:
    rows = [f"2026-02-{day:02} 09:00,22.5,5{day % 10}" for day in range(1, 10)]
    rows += ["2026-02-09 09:00,22.5,59", "2026-02-25 09:00,22.5,55", "2026-02-26 09:00,--,--"]

    logged = import_climate(yard.open_work, "shop", logger(*rows), "february.csv", zone=BRISBANE)

    assert (logged.new, logged.log.source) == (10, "february.csv")
    told = " ".join(logged.notes)
    assert "Row 11 repeats another" in told
    assert "Row 13 had no value" in told
    assert "1 gap of" in told
    assert show_climate(yard.open_work).gaps[0].length == timedelta(days=16)


def test_a_file_handed_in_again_adds_only_what_is_new(yard: Yard) -> None:
    rows = ["2026-02-01 09:00,22.5,55", "2026-02-02 09:00,22.0,54"]
    import_climate(yard.open_work, "shop", logger(rows[0]), "a.csv", zone=BRISBANE)

    again = import_climate(yard.open_work, "shop", logger(*rows), "b.csv")

    assert (again.new, again.repeated) == (1, 1)
    assert "1 readings were known already" in again.notes[-1]


def test_a_moment_read_differently_is_refused_and_nothing_is_written(yard: Yard) -> None:
    import_climate(yard.open_work, "shop", logger("2026-02-01 09:00,22.5,55"), "a.csv", zone=BRISBANE)
    with pytest.raises(BadInput, match="take back the log that is wrong"):
        import_climate(
            yard.open_work, "shop", logger("2026-02-01 09:00,30,55", "2026-02-02 09:00,22,54"), "b.csv"
        )
    with pytest.raises(BadInput, match="one reading for"):
        import_climate(
            yard.open_work, "shop", logger("2026-02-03 09:00,30,55", "2026-02-03 09:00,31,55"), "c.csv"
        )

    assert show_climate(yard.open_work).readings == 1


def test_a_turned_clock_and_another_zone_are_told(sqlite_yard: Yard) -> None:
    # Summer time in New South Wales began on Sunday 5 October 2025 at 02:00 (tz database).
    rows = [f"2025-10-0{day} 09:00,20,60" for day in (3, 4, 5, 6)]
    add_air(sqlite_yard.open_work, "shop", 21, 55, zone=BRISBANE)
    logged = import_climate(sqlite_yard.open_work, "shop", logger(*rows), "october.csv", zone=SYDNEY)

    assert any("offset changed" in note for note in logged.notes)
    told = "told in Australia/Sydney; the days of shop are those of Australia/Brisbane"
    assert any(told in note for note in logged.notes)
    with pytest.raises(BadInput, match="a zone without summer time"):
        import_climate(sqlite_yard.open_work, "shop", logger("2025-10-05 02:30,20,60"), "x.csv", zone=SYDNEY)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (logger("2026-02-01 09:00,22.5,0.55", "2026-02-02 09:00,22.5,0.56"), "shares of 1"),
        (logger("2026-02-01 09:00,72.5,55", "2026-02-02 09:00,71.0,56"), "looks like °F"),
        (b"", "header"),
        (b"\x00\x01\x02", "not text"),
    ],
)
def test_a_file_in_other_units_is_refused_in_a_sentence(sqlite_yard: Yard, content: bytes, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        import_climate(sqlite_yard.open_work, "shop", content, "a.csv", zone=BRISBANE)
    assert said in str(refused.value)
    assert list_places(sqlite_yard.open_work) == ()


def test_a_log_is_taken_back_once_and_with_a_reason(yard: Yard) -> None:
    log = add_air(yard.open_work, "shop", 35, 20, zone=BRISBANE).log.id
    with pytest.raises(BadInput, match="without a reason"):
        take_back_log(yard.open_work, log, " ")
    assert take_back_log(yard.open_work, log, "it hung over the heater") == "shop"
    with pytest.raises(Refused):
        take_back_log(yard.open_work, log, "again")

    sheet = show_climate(yard.open_work)
    assert (sheet.readings, sheet.months, sheet.span) == (0, (), None)
    assert "Nothing stands" in sheet.no_span
    assert sheet.logs[0].void == "it hung over the heater"


def test_the_year_is_told_only_where_months_are_covered(sqlite_yard: Yard) -> None:
    add_air(sqlite_yard.open_work, "shop", 21, 55, zone=BRISBANE)
    short = show_climate(sqlite_yard.open_work)
    assert short.span is None
    assert "covers no month" in short.no_span

    rows = [f"2026-02-{day:02} 09:00,20,50" for day in range(1, 29)]
    import_climate(sqlite_yard.open_work, "hall", logger(*rows), "hall.csv")
    span = show_climate(sqlite_yard.open_work, "hall").span
    assert span is not None
    assert span.low_pct == span.high_pct == pytest.approx(9.271, abs=0.001)
    assert "Only 1 months" in span.note


def test_a_place_that_is_not_logged_is_not_found(sqlite_yard: Yard) -> None:
    add_air(sqlite_yard.open_work, "hall", 21, 55, zone=BRISBANE)
    with pytest.raises(NotFound, match="Did you mean hall"):
        show_climate(sqlite_yard.open_work, "hal")
    with pytest.raises(BadInput, match="A place needs a name"):
        add_air(sqlite_yard.open_work, "  ", 21, 55, zone=BRISBANE)
