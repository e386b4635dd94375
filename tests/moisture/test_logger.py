from datetime import UTC, datetime, timedelta

import pytest

from stockyard.errors import BadInput
from stockyard.moisture.climate import Climate
from stockyard.moisture.logger import read_logger

ZONE = "Australia/Melbourne"


def a_file(*rows, header="Time,Temperature (°C),Humidity (%)", encoding="utf-8", end="\n"):
    return (end.join([header, *rows]) + end).encode(encoding)


def test_a_plain_file_is_read_in_its_zone():
    read = read_logger(a_file("2026-06-01 09:00,14.5,62", "2026-06-01 10:00,15.0,60.5"), ZONE)

    assert [(r.at, r.temperature_c, r.humidity) for r in read.readings] == [
        (datetime(2026, 5, 31, 23, tzinfo=UTC), 14.5, 0.62),
        (datetime(2026, 6, 1, 0, tzinfo=UTC), 15.0, 0.605),
    ]
    assert read.notes == ()
    assert read.gaps == ()
    assert read.columns == {
        "temperature": "Temperature (°C)",
        "humidity": "Humidity (%)",
        "time": "Time",
    }


@pytest.mark.parametrize(
    "content",
    [
        a_file("2026-06-01T09:00:00+10:00,14.5,62", encoding="utf-8-sig"),
        a_file("2026-05-31T23:00:00Z,14.5,62"),
        a_file("01/06/2026 9:00 am;14,5;62", header="Date/Time;Temp °C;RH %", encoding="cp1252"),
        a_file("1.6.2026 09:00\t14,5\t62,0", header="Time\tTemperature\tRel. humidity", encoding="utf-16"),
        a_file("01/06/2026,09:00:00,14.5 °C,62 %", header="Date,Time,Temperature,Humidity", end="\r\n"),
        a_file("1,2026-06-01 09:00,58.1,62", header="No.,Timestamp,Temperature(°F),Humidity(%RH)"),
        b"Shed sensor\nSerial,1234\n\n"
        + a_file("2026-06-01 09:00,14.5,62,7.3", header="Time,Temp,Humidity,Dew temp"),
    ],
)
def test_the_ways_loggers_write_are_understood(content):
    (reading,) = read_logger(content, ZONE).readings

    assert reading.at == datetime(2026, 5, 31, 23, tzinfo=UTC)
    assert (reading.temperature_c, reading.humidity) == pytest.approx((14.5, 0.62))


def test_the_american_order_is_read_when_asked_for():
    (reading,) = read_logger(a_file("06/01/2026 09:00,14.5,62"), ZONE, month_first=True).readings

    assert reading.at == datetime(2026, 5, 31, 23, tzinfo=UTC)


def test_a_silence_is_reported_as_a_gap():
    rows = [f"2026-06-0{day} {hour:02d}:00,15,60" for day in (1, 2, 5) for hour in range(24)]
    read = read_logger(a_file(*rows), ZONE)

    assert [gap.length for gap in read.gaps] == [timedelta(days=2, hours=1)]
    assert "1 gap of" in read.notes[0]


def test_a_row_given_twice_is_dropped_and_said():
    row = "2026-06-01 09:00,14.5,62"
    read = read_logger(a_file(row, row, "2026-06-01 10:00,14,62"), ZONE)

    assert len(read.readings) == 2
    assert read.notes == ("Row 3 repeats another and was left out.",)


def test_one_moment_with_two_values_is_refused_with_both_rows():
    with pytest.raises(BadInput) as refusal:
        read_logger(a_file("2026-06-01 09:00,14.5,62", "2026-06-01 09:00,15.5,62"), ZONE)

    assert [str(fault) for fault in refusal.value.faults] == [
        "row 3: expected one reading for 2026-06-01 09:00, found another in row 2"
    ]


def test_rows_out_of_order_are_sorted_and_said():
    read = read_logger(a_file("2026-06-01 10:00,15,60", "2026-06-01 09:00,14,60"), ZONE)

    assert [r.temperature_c for r in read.readings] == [14, 15]
    assert "not in order" in read.notes[0]


def test_the_hour_a_clock_repeats_is_read_in_turn():
    # Melbourne, 5 April 2026: 03:00 summer time became 02:00 standard time.
    rows = [
        f"2026-04-05 {clock},15,{humidity}"
        for clock, humidity in [
            ("01:30", 50),
            ("02:00", 51),
            ("02:30", 52),
            ("02:00", 53),
            ("02:30", 54),
            ("03:00", 55),
        ]
    ]
    read = read_logger(a_file(*rows), ZONE)
    steps = {b.at - a.at for a, b in zip(read.readings, read.readings[1:], strict=False)}

    assert [round(r.humidity * 100) for r in read.readings] == [50, 51, 52, 53, 54, 55]
    assert steps == {timedelta(minutes=30)}
    assert any("offset changed" in note for note in read.notes)
    assert Climate("workshop", read.readings, ZONE).gaps() == ()


def test_an_hour_the_clock_skipped_betrays_a_logger_on_standard_time():
    # Melbourne, 4 October 2026: 02:00 became 03:00.
    rows = [f"2026-10-04 {clock},15,60" for clock in ("01:30", "02:00", "02:30", "03:00")]
    with pytest.raises(BadInput) as refusal:
        read_logger(a_file(*rows), ZONE)

    assert [fault.where for fault in refusal.value.faults] == ["row 3", "row 4"]
    assert "zone without summer time" in refusal.value.faults[0].expected

    kept = read_logger(a_file(*rows), "Etc/GMT-10")
    assert len(kept.readings) == 4


def test_a_change_of_offset_in_the_file_is_said():
    read = read_logger(
        a_file(
            "2026-06-01T09:00+10:00,15,60", "2026-06-01T08:30+09:00,15,61", "2026-06-01T10:00+09:00,15,60"
        ),
        ZONE,
    )

    assert len(read.readings) == 3
    assert sum("offset changed" in note for note in read.notes) == 1


def test_a_sensor_that_dropped_out_is_left_out_and_said():
    read = read_logger(
        a_file("2026-06-01 09:00,--,--", "2026-06-01 10:00,,61", "2026-06-01 11:00,15,60"), ZONE
    )

    assert len(read.readings) == 1
    assert read.notes == ("2 rows (2, 3) had no value and were left out.",)


def test_shares_in_place_of_percent_are_one_fault():
    with pytest.raises(BadInput) as refusal:
        read_logger(a_file(*(f"2026-06-01 {hour:02d}:00,15,0.6" for hour in range(24))), ZONE)

    (fault,) = refusal.value.faults
    assert "this looks like shares of 1" in fault.expected


def test_fahrenheit_without_its_name_is_one_fault():
    with pytest.raises(BadInput) as refusal:
        read_logger(a_file(*(f"2026-06-01 {hour:02d}:00,68,60" for hour in range(24))), ZONE)

    (fault,) = refusal.value.faults
    assert "looks like °F" in fault.expected


def test_every_bad_row_is_named():
    rows = [
        "2026-06-01 09:00,warm,60",
        "2026-06-01 10:00,15,160",
        "yesterday,15,60",
        "2026-13-01 09:00,15,60",
        "2026-06-01 11:00,15",
        "2026-06-01 12:00,15,60",
        "2026-06-01 13:00,15,60",
    ]
    with pytest.raises(BadInput) as first:
        read_logger(a_file(*rows), ZONE)
    with pytest.raises(BadInput) as then:
        read_logger(a_file(*rows[2:4], *rows[5:]), ZONE)

    assert {fault.where for fault in first.value.faults} == {"row 2, temperature", "row 3, humidity", "row 6"}
    assert [fault.where for fault in then.value.faults] == ["row 2", "row 3"]


def test_a_time_in_the_future_is_refused():
    now = datetime(2026, 6, 1, tzinfo=UTC)
    with pytest.raises(BadInput, match="a time not after"):
        read_logger(a_file("2026-06-02 09:00,15,60"), ZONE, not_after=now)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "No header"),
        (b"nothing to see here\n1,2,3\n", "No header"),
        (b"\x00\x01\x02\x03" * 50, "not text"),
        (a_file(), "no reading"),
        (a_file("2026-06-01 09:00,15," + "6" * 140_000), "no CSV"),
        (a_file("01062026,15,60", "2026-06-01 09:00,15,60"), "row 2"),
        (a_file("15,60,1", header="Temp,Humidity,Battery"), "a column of time"),
        (
            a_file("x,1,2,3", header="Time,Temperature inside,Temperature outside,Humidity"),
            "No header|one column",
        ),
    ],
)
def test_a_file_that_is_no_log_is_refused_in_a_sentence(content, says):
    with pytest.raises(BadInput, match=says):
        read_logger(content, ZONE)


@pytest.mark.parametrize("zone", ["Melbourne", "", "../etc", "Australia/Nowhere"])
def test_an_unknown_zone_is_refused(zone):
    with pytest.raises(BadInput, match="zone"):
        read_logger(a_file("2026-06-01 09:00,15,60"), zone)
