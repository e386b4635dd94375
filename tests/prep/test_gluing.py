import pytest

from stockyard.errors import BadInput
from stockyard.prep.gluing import (
    CLAMPS_N,
    LBF_N,
    PSI_MPA,
    GlueHabits,
    clamp_pitch_mm,
    clamping_force_n,
    clamps_for,
    glue_mass_g,
    glue_ups,
    stave_count,
)
from tests.published import published


@pytest.mark.parametrize("row", published("prep", "clamps.csv"), ids=lambda row: row["clamp"])
def test_a_published_glue_line_takes_the_published_clamps(row):
    force = clamping_force_n(96 * 25.4, 3 * 25.4, 1200 * PSI_MPA)

    assert force / LBF_N == pytest.approx(345_600, abs=1)
    assert round(force / CLAMPS_N[row["clamp"]]) == int(row["clamps"])
    assert CLAMPS_N[row["clamp"]] == pytest.approx(float(row["lbf"]) * 4.4482, rel=1e-4)


@pytest.mark.parametrize("row", published("prep", "pressure.csv"))
def test_pressures_in_psi_are_so_much_in_megapascal(row):
    assert float(row["psi"]) * PSI_MPA == pytest.approx(float(row["mpa"]), abs=0.001)


def test_a_bench_top_takes_fourteen_pipe_clamps():
    # 1800 x 30 mm at 1.2 MPa: 64.8 kN, 13.9 -> 14 clamps of 4.67 kN (computed).
    force = clamping_force_n(1800, 30, 1.2)

    assert force == pytest.approx(64_800)
    assert force / 4670 == pytest.approx(13.9, abs=0.05)
    assert clamps_for(force, 4670) == 14


def test_seven_lines_take_sixty_eight_grams():
    # 1.8 m x 30 mm, 180 g/m2: 0.378 m2, 68 g (computed).
    assert glue_mass_g(7, 1800, 30, 180) == pytest.approx(0.378 * 180)
    assert glue_mass_g(7, 1800, 30, 180) == pytest.approx(68, abs=0.1)


@pytest.mark.parametrize(("widest", "staves"), [(90, 10), (100, 9), (120, 8), (140, 7)])
def test_a_top_of_900_takes_so_many_staves_and_one_line_fewer(widest, staves):
    # Computed: 900 / 90, 100, 120, 140, rounded up.
    assert stave_count(900, widest) == staves
    (one,) = glue_ups([900 / staves] * staves, 1800, 30, GlueHabits(widest_mm=1000))
    assert one.lines == staves - 1


def test_lines_in_series_share_one_force():
    two, nine = (glue_ups([90.0] * n, 1800, 30, GlueHabits(widest_mm=1000))[0] for n in (2, 9))

    assert two.force_n == nine.force_n
    assert nine.glue_g == pytest.approx(8 * two.glue_g)


def test_a_panel_too_wide_for_the_planer_is_glued_in_stages():
    stages = glue_ups([100.0] * 9, 1800, 30, GlueHabits(widest_mm=400))

    assert [(s.staves, s.lines) for s in stages] == [
        ((0, 1, 2, 3), 3),
        ((4, 5, 6, 7), 3),
        (tuple(range(9)), 2),
    ]
    assert sum(s.lines for s in stages) == 8


def test_clamps_stand_no_further_apart_than_their_pressure_reaches():
    (one,) = glue_ups([60.0, 60.0], 1800, 10, GlueHabits(clamp_n=20_000, caul_mm=0))

    assert clamp_pitch_mm(60, 0) == 120
    assert one.clamps_by_force == 2
    assert one.clamps == 15
    assert one.pitch_mm <= 120


def test_more_than_the_open_time_is_said():
    (one,) = glue_ups([60.0] * 6, 1800, 30)

    assert "passes the open time" in one.notes[0]
    assert glue_ups([60.0] * 2, 1800, 30)[0].notes == ()


def test_one_stave_needs_no_glue():
    assert glue_ups([100.0], 1800, 30) == ()
    with pytest.raises(BadInput, match="nothing to glue"):
        glue_ups([], 1800, 30)


@pytest.mark.parametrize("sizes", [(0, 30, 1.2), (1800, 0, 1.2), (1800, 30, float("nan"))])
def test_a_line_without_area_is_refused(sizes):
    with pytest.raises(BadInput, match="no area"):
        clamping_force_n(*sizes)
    with pytest.raises(BadInput, match="has to press"):
        clamps_for(100, 0)


def test_the_defaults_are_the_workshops_habits():
    habits = GlueHabits()

    assert (habits.pressure_mpa, habits.spread_g_m2, habits.least_c) == (1.2, 180, 10)
    assert habits.unstressed_hours == 24
