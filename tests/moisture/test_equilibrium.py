from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import OutOfRange
from stockyard.moisture.equilibrium import (
    equation_4_5,
    equilibrium_pct,
    humidity_for,
    humidity_from_percent,
    room_temperature,
)
from tests.published import published

CELSIUS = (
    (349, 1.29, 0.0135),
    (0.805, 0.000736, -0.00000273),
    (6.27, -0.00938, -0.000303),
    (1.91, 0.0407, -0.000293),
)
FAHRENHEIT = (
    (330, 0.452, 0.00415),
    (0.791, 0.000463, -0.000000844),
    (6.34, 0.000775, -0.0000935),
    (1.09, 0.0284, -0.0000904),
)


def written_out(coefficients, t, h, mass=1800.0, mass_on_all=True):
    """Equation (4-5) once more, in the other unit or with a slip of the pen."""
    w, k, k1, k2 = (a + b * t + c * t * t for a, b, c in coefficients)
    free = k * h / (1 - k * h)
    top = k1 * k * h + 2 * k1 * k2 * (k * h) ** 2
    held = top / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2)
    return mass / w * (free + held) if mass_on_all else mass / w * free + held


def worst_misses(emc: Callable[[float, float], float]) -> tuple[float, float]:
    """How far an equation strays from the printed table, and from the worked values. [points]"""
    table = max(
        abs(emc((float(row["fahrenheit"]) - 32) / 1.8, int(column) / 100) - float(entry))
        for row in published("moisture", "emc_table_4_2.csv")
        for column, entry in row.items()
        if column != "fahrenheit"
    )
    worked = max(
        abs(emc(float(row["temperature_c"]), float(row["humidity_pct"]) / 100) - float(row["emc_pct"]))
        for row in published("moisture", "emc_equation.csv")
    )
    return table, worked


@pytest.mark.parametrize(
    "row", published("moisture", "emc_points.csv") + published("moisture", "emc_equation.csv")
)
def test_equilibrium_is_what_the_handbook_prints(row):
    value = equilibrium_pct(float(row["temperature_c"]), float(row["humidity_pct"]) / 100)

    assert value == pytest.approx(float(row["emc_pct"]), abs=float(row["tolerance"]))


def test_a_kiln_at_140_fahrenheit_is_as_an_encyclopedia_prints_it():
    # liquisearch.com, equilibrium moisture content (read): 8.4 at 140 °F and 55 %; an older table had 8.0.
    assert equilibrium_pct((140 - 32) / 1.8, 0.55) == pytest.approx(8.4, abs=0.05)


def test_the_whole_table_lies_within_six_hundredths():
    table, worked = worst_misses(equation_4_5)

    assert len(published("moisture", "emc_table_4_2.csv")) * 19 == 114
    assert table < 0.06
    assert worked < 0.001


def _with(unit, part, power, value):
    changed = [list(row) for row in unit]
    changed[part][power] = value
    return changed


MISPRINTS = {
    "K squared term ten times too small": lambda t, h: written_out(_with(CELSIUS, 1, 2, -0.000000273), t, h),
    "K1 with the wrong sign and size": lambda t, h: written_out(_with(CELSIUS, 2, 1, 0.000938), t, h),
    "both of these": lambda t, h: written_out(
        _with(_with(CELSIUS, 1, 2, -0.000000273), 2, 1, 0.000938), t, h
    ),
    "K2 in °F with 0.0171": lambda t, h: written_out(_with(FAHRENHEIT, 3, 1, 0.0171), t * 1.8 + 32, h),
    "mass on the first term only": lambda t, h: written_out(CELSIUS, t, h, mass_on_all=False),
    "18 for 1800": lambda t, h: written_out(CELSIUS, t, h, mass=18.0),
}


@pytest.mark.parametrize("misprint", MISPRINTS)
def test_a_known_misprint_of_the_equation_fails_the_table(misprint):
    table, worked = worst_misses(MISPRINTS[misprint])

    assert table > 0.06
    assert worked > 0.01


def test_the_equation_agrees_with_its_own_form_in_fahrenheit():
    for celsius in range(0, 41, 5):
        for percent in range(5, 96, 5):
            other = written_out(FAHRENHEIT, celsius * 1.8 + 32, percent / 100)
            assert equation_4_5(celsius, percent / 100) == pytest.approx(other, abs=0.0135)


@pytest.mark.parametrize("row", published("moisture", "emc_rules_of_thumb.csv"))
def test_the_trades_rule_of_thumb_holds_to_half_a_point(row):
    value = equilibrium_pct(20, float(row["humidity_pct"]) / 100)

    assert value == pytest.approx(float(row["emc_pct"]), abs=0.5)


@pytest.mark.parametrize("row", published("moisture", "emc_inverse.csv"))
def test_the_humidity_for_a_moisture_content_is_as_printed(row):
    assert humidity_for(20, float(row["emc_pct"])) * 100 == pytest.approx(
        float(row["humidity_pct"]), abs=0.05
    )


@settings(max_examples=100, deadline=None)
@given(st.floats(-1.1, 60), st.floats(0.05, 0.95))
def test_there_and_back_is_where_one_began(temperature, humidity):
    there = equilibrium_pct(temperature, humidity)

    assert humidity_for(temperature, there) == pytest.approx(humidity, abs=1e-6)


@pytest.mark.parametrize("temperature", [-1.1, 0, 20, 60, 130])
def test_without_water_in_the_air_there_is_none_in_the_wood(temperature):
    assert equation_4_5(temperature, 0) == pytest.approx(0, abs=1e-9)


def test_damper_air_is_wetter_wood_and_warmer_air_is_drier_wood():
    by_humidity = [equilibrium_pct(20, percent / 100) for percent in range(5, 96)]
    assert all(b > a for a, b in pairwise(by_humidity))

    for percent in range(30, 96, 5):
        by_temperature = [equilibrium_pct(t, percent / 100) for t in range(10, 36)]
        assert all(b < a for a, b in pairwise(by_temperature))


@pytest.mark.parametrize(
    ("temperature", "humidity"),
    [
        (-1.2, 0.5),
        (132.3, 0.5),
        (20, 0.04),
        (20, 0.96),
        (20, 1.0),
        (20, 50),
        (float("nan"), 0.5),
        (20, float("nan")),
    ],
)
def test_outside_its_published_range_the_equation_is_refused(temperature, humidity):
    with pytest.raises(OutOfRange, match="smaller range"):
        equilibrium_pct(temperature, humidity)


def test_percent_given_for_a_share_is_named():
    with pytest.raises(OutOfRange) as refusal:
        equilibrium_pct(20, 50)

    assert "a share, not percent" in str(refusal.value)


def test_a_share_given_for_percent_is_refused_with_the_percent():
    assert humidity_from_percent(50) == 0.5
    with pytest.raises(OutOfRange, match="write 50"):
        humidity_from_percent(0.5)
    with pytest.raises(OutOfRange, match="write 100"):
        humidity_from_percent(1)
    with pytest.raises(OutOfRange, match="improbable"):
        humidity_from_percent(101)


def test_fahrenheit_given_for_celsius_is_refused_with_the_celsius():
    assert room_temperature(21) == 21
    with pytest.raises(OutOfRange, match=r"21\.1 °C"):
        room_temperature(70)
    with pytest.raises(OutOfRange, match="improbable"):
        room_temperature(-40)


@pytest.mark.parametrize("emc", [0.5, 24.5, float("nan"), -3])
def test_no_humidity_holds_wood_outside_the_range(emc):
    with pytest.raises(OutOfRange, match="No humidity"):
        humidity_for(20, emc)
