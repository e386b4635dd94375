from datetime import date

import pytest

from stockyard.errors import BadInput, OutOfRange
from stockyard.records import Yard
from stockyard.services.read_moisture import add_reading, list_readings
from stockyard.services.show_board import show_board
from tests.services.yards import receive

BLACKBUTT = "blackbutt,2400,180,32,48.00"


def test_a_reading_is_kept_raw_and_corrected_for_temperature_then_species(yard: Yard) -> None:
    # Blackbutt, meter 12, wood at 30 C: -1 for temperature, then +1 for the species, is 12. Computed from the
    # Australian correction tables at moisturemeterexperts.com.au.
    receive(yard, BLACKBUTT)
    kept = add_reading(yard.open_work, "BB-0001", 12, meter="pins", wood_c=30)
    assert (kept.raw_pct, kept.corrected_pct, kept.wood_c) == (12, 12, 30)
    assert show_board(yard.open_work, "BB-0001").piece.moisture_pct == 12


def test_the_newest_reading_by_its_date_stands(yard: Yard) -> None:
    receive(yard, BLACKBUTT)
    add_reading(yard.open_work, "BB-0001", 11, meter="ovendry", taken_on=date(2026, 3, 1))
    add_reading(yard.open_work, "BB-0001", 15, meter="ovendry", taken_on=date(2026, 2, 1))
    assert show_board(yard.open_work, "BB-0001").piece.moisture_pct == 11
    assert [reading.raw_pct for reading in list_readings(yard.open_work, "BB-0001")] == [15, 11]


def test_a_reading_no_table_covers_is_kept_without_a_corrected_figure(yard: Yard) -> None:
    receive(yard, BLACKBUTT)
    add_reading(yard.open_work, "BB-0001", 11, meter="ovendry", taken_on=date(2026, 2, 1))
    kept = add_reading(yard.open_work, "BB-0001", 40, meter="pins", wood_c=20)
    assert kept.corrected_pct is None
    assert "40 %" in kept.note
    assert show_board(yard.open_work, "BB-0001").piece.moisture_pct == 11


@pytest.mark.parametrize("reading", [0, -3, 101, float("nan")])
def test_what_is_no_percentage_is_refused(yard: Yard, reading: float) -> None:
    receive(yard, BLACKBUTT)
    with pytest.raises(BadInput):
        add_reading(yard.open_work, "BB-0001", reading, wood_c=20)
    assert list_readings(yard.open_work, "BB-0001") == ()


def test_a_day_to_come_is_refused(yard: Yard) -> None:
    receive(yard, BLACKBUTT)
    with pytest.raises(BadInput, match="a day up to today"):
        add_reading(yard.open_work, "BB-0001", 12, wood_c=20, taken_on=date(2026, 3, 3))


def test_a_temperature_no_workshop_has_is_refused(yard: Yard) -> None:
    receive(yard, BLACKBUTT)
    with pytest.raises(OutOfRange):
        add_reading(yard.open_work, "BB-0001", 12, wood_c=68)
