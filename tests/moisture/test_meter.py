from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput, OutOfRange
from stockyard.moisture.meter import (
    TemperatureRule,
    by_equation,
    by_handbook,
    by_swedish_test,
    corrected,
    published_tables,
)
from stockyard.timber.species import known_species
from tests.published import published


@pytest.mark.parametrize("row", published("moisture", "meter_check.csv"), ids=lambda row: row["species"])
def test_a_reading_is_corrected_as_the_published_tables_say(row):
    answer = corrected(float(row["reading"]), float(row["wood_temperature_c"]), row["species"])

    assert answer.percent == (float(row["corrected"]) if row["corrected"] else None)


@pytest.mark.parametrize(
    "row", published("moisture", "meter_species.csv"), ids=lambda row: f"{row['species']} {row['grown']}"
)
def test_every_entry_of_the_species_table_is_the_published_one(row):
    for column, points in list(row.items())[2:]:
        answer = corrected(float(column), 20, row["species"], row["grown"].split(",")[0] or None)
        # Above 22 the temperature table has no data at 20 °C, and the equation serves.
        if float(column) <= 22:
            assert answer.percent == (float(column) + float(points) if points else None), column
    kept = published_tables().by_species[row["species"], row["grown"]]
    assert [*kept] == [float(points) if points else None for points in list(row.values())[2:]]


@pytest.mark.parametrize(
    "row", published("moisture", "meter_temperature.csv"), ids=lambda r: r["wood_temperature_c"]
)
def test_every_entry_of_the_temperature_table_is_the_published_one(row):
    temperature = float(row["wood_temperature_c"])
    for column, points in list(row.items())[1:]:
        if points:
            answer = corrected(float(column), temperature, "Douglas fir")
            assert answer.on_scale_pct == float(column) + float(points), column
    kept = published_tables().by_temperature[temperature]
    assert [*kept] == [float(points) if points else None for points in list(row.values())[1:]]


@pytest.mark.parametrize("row", published("moisture", "meter_equation.csv"))
def test_the_equation_gives_the_worked_values(row):
    value = by_equation(float(row["reading"]), float(row["wood_temperature_c"]))

    assert value == pytest.approx(float(row["corrected"]), abs=float(row["tolerance"]))


def test_no_data_is_never_taken_as_zero():
    blank = corrected(20, 20, "blackwood")

    assert blank.percent is None
    assert "no data" in blank.rule
    assert "no data for blackwood" in blank.note
    assert blank.on_scale_pct == 20


def test_beside_a_blank_there_is_no_data_either():
    # Blackwood has 0 at 16 and nothing at 18; the temperature row of 15 °C has +2 at 20 and nothing at 22.
    assert corrected(16, 20, "blackwood").percent == 16
    assert corrected(17, 20, "blackwood").percent is None
    assert "equation" in corrected(21, 15, "Douglas fir").rule


def test_temperature_goes_before_species():
    # Sydney blue gum, reading 13 at 30 °C: -1.5 takes it to 11.5, where the row stands at 1.25.
    # The other way round the row stands at 1.0 (13 %), and temperature takes off 2 at 14 %: 12.0.
    answer = corrected(13, 30, "Sydney blue gum")

    assert answer.percent == pytest.approx(12.75)
    assert answer.rule.index("temperature") < answer.rule.index("species")


def test_between_columns_the_correction_goes_straight():
    assert corrected(11, 20, "Sydney blue gum").percent == pytest.approx(11 + 1.5)  # 2 at 10, 1 at 12
    assert corrected(14, 27.5, "Douglas fir").percent == pytest.approx(14 - 1.5)  # -1 at 25, -2 at 30


def test_a_species_without_a_row_keeps_the_reading_and_says_what_is_missing():
    answer = corrected(12, 25, "spotted gum")

    assert answer.percent == 11
    assert "no species correction" in answer.rule
    assert "species correction of spotted gum is not known" in answer.note
    assert "Douglas fir scale" in answer.note


def test_an_alias_finds_the_row_of_its_species():
    assert corrected(10, 20, "flooded gum") == corrected(10, 20, "rose gum")


def test_where_the_tree_grew_decides_and_the_wettest_is_taken_when_it_is_not_said():
    qld, nsw = corrected(8, 20, "grey ironbark", "Qld"), corrected(8, 20, "grey ironbark", "NSW")
    unsaid = corrected(8, 20, "grey ironbark")

    assert (qld.percent, nsw.percent, unsaid.percent) == (11, 9, 11)
    assert "depends on where it grew" in unsaid.note
    assert "9.0 %" in unsaid.note
    assert qld.note == nsw.note == ""


def test_regrowth_has_its_own_row():
    assert corrected(20, 20, "blackbutt", "NSW regrowth").percent == 20
    assert corrected(20, 20, "blackbutt", "NSW").percent == 21


def test_a_place_the_table_does_not_have_is_said():
    answer = corrected(12, 20, "blackbutt", "Vic")

    assert answer.percent == 12
    assert "not known for Vic" in answer.note


def test_a_cold_shed_beyond_the_table_uses_the_equation_and_says_so():
    answer = corrected(12, 10, "Douglas fir")

    assert answer.percent == pytest.approx(by_equation(12, 10))
    assert TemperatureRule.EQUATION in answer.rule
    assert "equation" in answer.note


def test_a_blank_of_the_temperature_table_uses_the_equation_and_says_so():
    answer = corrected(22, 15, "Douglas fir", rule=TemperatureRule.TABLE)

    assert answer.on_scale_pct == pytest.approx(by_equation(22, 15))
    assert "no data for 22 % at 15 °C" in answer.note


def test_an_unmeasured_temperature_is_said():
    answer = corrected(12, None, "Douglas fir")

    assert answer.percent == 12
    assert "temperature was not measured" in answer.note


@pytest.mark.parametrize("reading", [6.5, 25.5, 40])
def test_a_reading_outside_the_meters_useful_range_is_no_figure(reading):
    # 8 to 25 %: University of Tasmania note on AS/NZS 1080.1, read.
    answer = corrected(reading, 20, "blackbutt")

    assert answer.percent is None
    assert answer.raw_pct == reading
    assert "8 to 25 %" in answer.note


@pytest.mark.parametrize("reading", [0, -3, 101, float("nan"), float("inf")])
def test_a_reading_that_is_no_percentage_is_refused(reading):
    with pytest.raises(BadInput, match="percentage"):
        corrected(reading, 20, "blackbutt")


def test_fahrenheit_typed_as_celsius_is_refused_with_the_celsius():
    with pytest.raises(OutOfRange, match=r"21\.1 °C"):
        corrected(12, 70, "blackbutt")


def test_the_other_temperature_rules_are_the_published_ones():
    # Wood Handbook chapter 13: half a point for each 10 °F (5.6 °C), added when colder; read as quoted.
    assert by_handbook(12, 20 - 5.6) == pytest.approx(12.5)
    assert by_handbook(12, 20 + 5.6) == pytest.approx(11.5)
    # A Swedish institute's test: 1.6 points for each 10 °C from 20; read as quoted.
    assert by_swedish_test(12, 10) == pytest.approx(13.6)
    assert by_swedish_test(12, 30) == pytest.approx(10.4)


@pytest.mark.parametrize("rule", [rule for rule in TemperatureRule if rule is not TemperatureRule.NONE])
def test_warmer_wood_never_reads_wetter(rule):
    answers = [corrected(12, t, "Douglas fir", rule=rule).percent for t in range(15, 31)]

    assert all(b <= a for a, b in pairwise(answers))
    assert answers[-1] < answers[0]


@settings(max_examples=60, deadline=None)
@given(st.floats(6, 30), st.floats(0, 40))
def test_the_equation_falls_as_the_wood_warms(reading, temperature):
    assert by_equation(reading, temperature + 1) < by_equation(reading, temperature)


def test_the_workshops_own_tables_and_constants_take_over():
    own = replace(
        published_tables(),
        by_species={("spotted gum", "Qld"): (2, 2, 2, 2, 2, 2, 2, 2, 2)},
        constants={"jarrah": (1.1, 0.5)},
    )

    assert corrected(12, 20, "spotted gum", tables=own).percent == 14
    assert corrected(12, 20, "jarrah", tables=own).percent == pytest.approx((12 - 0.5) / 1.1)


def test_every_row_of_the_species_table_is_a_known_species():
    tables = published_tables()

    assert {species for species, _ in tables.by_species} <= {one.name for one in known_species()}
    assert all(len(points) == len(tables.columns) for points in tables.by_species.values())
    assert all(len(points) == len(tables.columns) for points in tables.by_temperature.values())
    assert len(tables.by_species) == 16
