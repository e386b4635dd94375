from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from stockyard.errors import BadInput, OutOfRange
from stockyard.moisture.climate import AirReading, Climate, span_of
from stockyard.moisture.equilibrium import equilibrium_pct

ZONE = "Australia/Melbourne"


def hourly(start, hours, air):
    """Readings every hour from a local midnight; `air` gives temperature and humidity by hour."""
    first = datetime.combine(start, time(), ZoneInfo(ZONE)).astimezone(UTC)
    return [AirReading(first + timedelta(hours=n), *air(n)) for n in range(hours)]


def test_a_steady_day_has_the_means_of_its_readings():
    climate = Climate("workshop", hourly(date(2026, 6, 1), 24, lambda n: (18.0, 0.6)), ZONE)
    (day,) = climate.daily()

    assert (day.first_day, day.days) == (date(2026, 6, 1), 1)
    assert (day.temperature_c, day.humidity) == pytest.approx((18, 0.6))
    assert day.emc_pct == pytest.approx(equilibrium_pct(18, 0.6))
    assert day.covered == pytest.approx(1)


def test_days_are_the_places_days():
    climate = Climate("workshop", hourly(date(2026, 6, 1), 72, lambda n: (10.0 + n // 24, 0.5)), ZONE)

    assert [day.temperature_c for day in climate.daily()] == pytest.approx([10, 11, 12], abs=0.03)
    assert [day.first_day.day for day in climate.daily()] == [1, 2, 3]


def test_a_busy_hour_does_not_bend_the_mean():
    steady = hourly(date(2026, 6, 1), 24, lambda n: (10.0, 0.5))
    noon = datetime(2026, 6, 1, 12, tzinfo=ZoneInfo(ZONE)).astimezone(UTC)
    busy = [AirReading(noon + timedelta(minutes=n), 30.0, 0.3) for n in range(1, 60)]
    (day,) = Climate("workshop", [*steady, *busy], ZONE).daily()

    # One hour in twenty-four at 30 °C: 10 + 20/24, and not the plain mean of 83 readings, near 24.
    assert day.temperature_c == pytest.approx(10 + 20 / 24, abs=0.05)


def test_wood_follows_the_mean_of_the_equilibrium():
    swings = Climate("shed", hourly(date(2026, 6, 1), 24, lambda n: (20.0, 0.3 if n % 2 else 0.9)), ZONE)
    (day,) = swings.daily()

    assert day.humidity == pytest.approx(0.6)
    assert day.emc_pct == pytest.approx((equilibrium_pct(20, 0.3) + equilibrium_pct(20, 0.9)) / 2)
    assert day.emc_pct > equilibrium_pct(20, 0.6) + 1


def test_a_turned_clock_makes_days_of_23_and_25_hours():
    # Melbourne turned its clocks forward on 4 October 2026 and back on 5 April 2026.
    spring = Climate("workshop", hourly(date(2026, 10, 4), 23, lambda n: (15.0, 0.5)), ZONE)
    autumn = Climate("workshop", hourly(date(2026, 4, 5), 25, lambda n: (15.0, 0.5)), ZONE)

    assert [day.first_day for day in spring.daily()] == [date(2026, 10, 4)]
    assert [day.first_day for day in autumn.daily()] == [date(2026, 4, 5)]
    assert spring.gaps() == autumn.gaps() == ()


def test_a_silence_is_a_gap_and_is_not_filled():
    before = hourly(date(2026, 6, 1), 24, lambda n: (10.0, 0.5))
    after = hourly(date(2026, 6, 20), 24, lambda n: (30.0, 0.5))
    climate = Climate("workshop", before + after, ZONE)
    (gap,) = climate.gaps()
    (month,) = climate.monthly()

    assert gap.length == timedelta(days=18, hours=1)
    assert month.temperature_c == pytest.approx(20, abs=0.01)
    assert month.covered == pytest.approx(48 / (30 * 24), abs=0.003)


def a_year(air):
    start = datetime(2025, 1, 1, tzinfo=UTC)
    return [AirReading(start + timedelta(hours=12 * n), *air(n / 2)) for n in range(730)]


def test_a_year_has_four_seasons_and_twelve_months():
    climate = Climate("house", a_year(lambda day: (20.0, 0.45 + 0.15 * (60 <= day % 365 < 150))), "UTC")
    months, seasons = climate.monthly(), climate.seasonal()

    assert [month.first_day.month for month in months] == list(range(1, 13))
    assert [season.first_day for season in seasons] == [
        date(2024, 12, 1),
        date(2025, 3, 1),
        date(2025, 6, 1),
        date(2025, 9, 1),
        date(2025, 12, 1),
    ]
    assert [season.days for season in seasons] == [90, 92, 92, 91, 90]
    assert all(b.first_day - a.first_day == timedelta(days=a.days) for a, b in pairwise(seasons))


def test_the_year_spans_its_driest_and_dampest_months():
    climate = Climate("house", a_year(lambda day: (20.0, 0.65 if 90 <= day < 120 else 0.45)), "UTC")
    span = climate.emc_span()

    assert (span.low_pct, span.high_pct) == pytest.approx((8.49, 12.00), abs=0.01)  # Wood Handbook (4-5)
    assert span.high_month == date(2025, 4, 1)
    assert span.whole_year
    assert span.note == ""


def test_part_of_a_year_says_so():
    climate = Climate("house", a_year(lambda day: (20.0, 0.5))[:240], "UTC")

    assert not climate.emc_span().whole_year
    assert "4 months" in climate.emc_span().note


def test_a_month_hardly_covered_is_no_ground_for_a_span():
    with pytest.raises(BadInput, match="covers no month"):
        Climate("house", hourly(date(2026, 6, 1), 24, lambda n: (20.0, 0.5)), ZONE).emc_span()


def test_a_mean_over_a_stretch_is_of_that_stretch_or_nothing():
    climate = Climate("workshop", hourly(date(2026, 6, 1), 48, lambda n: (10.0 + 10 * (n >= 24), 0.5)), ZONE)
    second = datetime(2026, 6, 2, tzinfo=ZoneInfo(ZONE))

    assert climate.mean(second, second + timedelta(days=1)).temperature_c == pytest.approx(20)
    assert climate.mean(second + timedelta(days=9), second + timedelta(days=10)) is None


def test_fog_is_held_at_the_edge_of_the_published_range():
    (day,) = Climate("shed", hourly(date(2026, 6, 1), 24, lambda n: (5.0, 1.0)), ZONE).daily()

    assert day.emc_pct == pytest.approx(equilibrium_pct(5, 0.95))


def test_two_airs_by_hand_make_a_span_in_either_order():
    assert span_of((20, 0.65), (20, 0.45), 2026) == span_of((20, 0.45), (20, 0.65), 2026)
    assert span_of((20, 0.45), (20, 0.65), 2026).high_pct == pytest.approx(12.0, abs=0.01)
    with pytest.raises(OutOfRange):
        span_of((20, 45), (20, 65), 2026)


def test_the_same_moment_twice_is_refused():
    at = datetime(2026, 6, 1, tzinfo=UTC)
    again = at.astimezone(ZoneInfo(ZONE))

    with pytest.raises(BadInput, match="read twice"):
        Climate("workshop", [AirReading(at, 20, 0.5), AirReading(again, 21, 0.5)], ZONE)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadInput, match="one moment"):
        Climate("workshop", [AirReading(datetime.fromisoformat("2026-06-01T00:00"), 20, 0.5)], ZONE)


@pytest.mark.parametrize(
    ("air", "says"),
    [((70, 0.5), "Fahrenheit"), ((20, 50), "no share"), ((20, 0), "no share"), ((20, float("nan")), "no")],
)
def test_air_that_no_room_has_is_refused(air, says):
    with pytest.raises(OutOfRange, match=says):
        AirReading(datetime(2026, 6, 1, tzinfo=UTC), *air)
