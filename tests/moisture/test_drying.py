from datetime import date, timedelta
from math import exp, log

import numpy as np
import pytest

from stockyard.errors import BadInput
from stockyard.moisture.drying import DatedMoisture, DryingCurve, NoCurve, fit_drying

START = date(2026, 1, 1)


def readings(days, emc, start, rate, noise=None):
    """Moisture contents on a known curve, with noise in points."""
    noise = noise if noise is not None else [0.0] * len(days)
    return [
        DatedMoisture(START + timedelta(days=int(d)), emc + (start - emc) * exp(-rate * d) + float(e))
        for d, e in zip(days, noise, strict=True)
    ]


DAYS = (0, 14, 30, 60, 90, 120)


def test_a_known_curve_is_found_again():
    curve = fit_drying(readings(DAYS, 11, 24, 0.01), 11)

    assert isinstance(curve, DryingCurve)
    assert (curve.start_pct, curve.rate_per_day) == pytest.approx((24, 0.01), rel=1e-4)
    assert curve.half_life_days == pytest.approx(69.3, abs=0.1)
    assert curve.at(START + timedelta(days=200)) == pytest.approx(11 + 13 * exp(-2))


def test_the_ready_day_is_where_the_curve_meets_the_target():
    curve = fit_drying(readings(DAYS, 11, 24, 0.01), 11)

    # 13 exp(-0.01 t) = 2 at t = 100 ln 6.5 = 187.2 days.
    assert curve.reaches(13) == START + timedelta(days=188)
    assert curve.reaches(13, -1) < curve.reaches(13) < curve.reaches(13, 1)
    assert curve.reaches(11) is None


def test_timber_that_is_too_dry_comes_up_by_the_same_law():
    curve = fit_drying(readings(DAYS, 12, 6, 0.02), 12)

    assert curve.rate_per_day == pytest.approx(0.02, rel=1e-4)
    assert curve.reaches(10) == START + timedelta(days=int(np.ceil(log(3) / 0.02)))
    assert curve.reaches(10, 1) < curve.reaches(10)


def test_the_band_holds_the_truth_about_as_often_as_it_says():
    # Meter noise of one point on a known curve, drawn 300 times: the band of nine in ten must hold the true
    # moisture content at the last reading and a month after it in about nine of ten.
    random = np.random.default_rng(7)
    held = drawn = 0
    for _ in range(300):
        curve = fit_drying(readings(DAYS, 11, 24, 0.012, random.normal(0, 1, len(DAYS))), 11, confidence=0.9)
        if isinstance(curve, NoCurve):
            continue
        for days in (120, 150):
            low, high = curve.between(START + timedelta(days=days))
            held += low <= 11 + 13 * exp(-0.012 * days) <= high
            drawn += 1

    assert drawn > 550
    assert 0.85 < held / drawn < 0.97


def test_the_band_carries_the_errors_of_both_parameters_and_what_they_share():
    # The spread of the curve when its two parameters are drawn from their covariance.
    covariance = ((4e-4, 9e-5), (9e-5, 4e-5))
    curve = DryingCurve(START, 11, 24, 0.01, covariance, 1.0, 6)
    draws = np.random.default_rng(3).multivariate_normal((24, log(0.01)), covariance, 40_000)

    for days in (0, 40, 150):
        drawn = 11 + (draws[:, 0] - 11) * np.exp(-np.exp(draws[:, 1]) * days)
        low, high = curve.between(START + timedelta(days=days))
        assert (high - low) / 2 == pytest.approx(float(drawn.std()), rel=0.02)


def test_scatter_beyond_the_meters_widens_the_band_and_neatness_does_not_narrow_it():
    neat = fit_drying(readings(DAYS, 11, 24, 0.01), 11)
    rough = fit_drying(readings(DAYS, 11, 24, 0.01, [3, -3, 3, -3, 3, -3]), 11)
    last = START + timedelta(days=120)

    low, high = neat.between(last)
    assert high - low > 1.0
    low_rough, high_rough = rough.between(last)
    assert high_rough - low_rough > 2 * (high - low)


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (readings((0, 30), 11, 24, 0.01), "three"),
        (readings((0, 0, 0, 30), 11, 24, 0.01), "three"),
        ([], "three"),
        (readings(DAYS, 11, 11.5, 0.01), "as near to equilibrium"),
        ([DatedMoisture(START + timedelta(days=d), 18 + d / 30) for d in DAYS], "do not move towards"),
        ([DatedMoisture(START + timedelta(days=d), 40 - d / 30) for d in DAYS], "three"),
    ],
)
def test_readings_that_tell_nothing_give_no_curve_and_say_why(given, why):
    curve = fit_drying(given, 11)

    assert isinstance(curve, NoCurve)
    assert why in curve.why


@pytest.mark.parametrize("percent", [0, -1, float("nan")])
def test_a_moisture_content_that_cannot_be_is_refused(percent):
    with pytest.raises(BadInput, match="no curve"):
        fit_drying([*readings(DAYS, 11, 24, 0.01), DatedMoisture(START, percent)], 11)
