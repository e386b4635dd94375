from datetime import date, timedelta
from math import exp

import pytest

from stockyard.moisture.drying import DatedMoisture
from stockyard.moisture.readiness import ReadyRule, board_readiness, panel_readiness

START = date(2026, 1, 1)


def dried(days, start=24.0, emc=11.0, rate=0.01):
    return [DatedMoisture(START + timedelta(days=d), emc + (start - emc) * exp(-rate * d)) for d in days]


def on(days):
    return START + timedelta(days=days)


def readiness(given, today, **changes):
    return board_readiness(
        given, **({"shop_emc_pct": 11, "destination_emc_pct": 10, "today": today} | changes)
    )


def test_a_board_within_two_points_of_its_destination_is_ready():
    # G. Wengert, Woodworking 101, woodweb.com (read): within 2 points of the equilibrium in use.
    assert readiness([DatedMoisture(START, 12.0)], on(5)).ready
    assert readiness([DatedMoisture(START, 8.0)], on(5)).ready
    assert not readiness([DatedMoisture(START, 12.1)], on(5)).ready


def test_a_wet_board_says_why_not_and_when():
    answer = readiness(dried((0, 14, 30, 60, 90)), on(90))

    # 13 exp(-0.01 t) = 1, the job's 12 % being 1 above the shop's 11 %: t = 100 ln 13 = 256.5 days.
    assert not answer.ready
    assert answer.why_not == ("16.3 % is above 12.0 %.",)
    assert answer.ready_on == on(257)
    assert answer.earliest < answer.ready_on
    assert answer.latest is None or answer.latest > answer.ready_on


def test_a_shop_too_damp_will_never_do_it():
    answer = readiness(dried((0, 14, 30, 60), emc=13), on(60), shop_emc_pct=13)

    assert answer.ready_on is None
    assert "will not come down to 12.0 %" in answer.why_not[-1]


def test_two_readings_give_no_date_and_say_so():
    answer = readiness(dried((0, 30)), on(30))

    assert answer.ready_on is None
    assert "a curve needs three" in answer.note


def test_no_reading_is_never_taken_for_ready():
    answer = readiness([], on(0))

    assert not answer.ready
    assert answer.percent is None
    assert "no moisture reading" in answer.why_not[0]


def test_an_old_reading_has_to_be_taken_again():
    assert readiness([DatedMoisture(START, 10)], on(30)).ready
    answer = readiness([DatedMoisture(START, 10)], on(31))

    assert not answer.ready
    assert answer.why_not == ("Its newest reading is 31 days old; read it again.",)


def test_the_jobs_own_limits_bind_as_well():
    rule = ReadyRule(min_pct=8, max_pct=11)

    wet = readiness([DatedMoisture(START, 11.5)], on(1), rule=rule, shop_emc_pct=9.5)
    assert wet.why_not == ("11.5 % is above 11.0 %.",)
    assert readiness([DatedMoisture(START, 7.9)], on(1), rule=rule).why_not == ("7.9 % is below 8.0 %.",)


def test_a_job_at_odds_with_its_destination_is_told():
    answer = readiness([DatedMoisture(START, 10)], on(1), rule=ReadyRule(min_pct=13, max_pct=15))

    assert not answer.ready
    assert "The job allows 13 to 15 %" in answer.why_not[0]


def test_a_dry_board_comes_up_in_damper_air():
    answer = readiness(dried((0, 14, 30, 60), start=5, emc=11, rate=0.005), on(60))

    # Up to 8 %: 6 exp(-0.005 t) = 3 at 138.6 days.
    assert answer.ready_on == on(139)
    assert answer.earliest < answer.ready_on


def test_the_ready_day_is_not_in_the_past():
    # By the curve it was there on day 257; the newest reading, a little above, says it is not yet.
    given = [*dried((0, 14, 30, 60, 90)), DatedMoisture(on(300), 12.2)]
    answer = readiness(given, on(300))

    assert answer.ready_on >= on(300)
    assert answer.earliest == on(300)


def test_the_default_rule_is_the_workshops_habit():
    rule = ReadyRule()

    assert (rule.within_pct, rule.spread_pct, rule.newest_days) == (2, 2, 30)


def test_staves_close_to_each_other_and_to_their_place_may_be_glued():
    answer = panel_readiness({"A": 10.0, "B": 11.5, "C": 12.0}, 10.5)

    assert answer.ready
    assert answer.spread_pct == 2.0
    assert answer.from_destination_pct == pytest.approx(1.5)


def test_staves_too_far_apart_are_named():
    answer = panel_readiness({"A": 9.0, "B": 11.5, "C": None}, 9.0)

    assert not answer.ready
    assert answer.why_not == (
        "C has no reading.",
        "B at 11.5 % and A at 9.0 % are 2.5 points apart; 2 are allowed.",
        "B at 11.5 % is 2.5 points above the destination's 9.0 %.",
    )


def test_a_panel_without_readings_is_not_ready():
    assert not panel_readiness({"A": None}, 10).ready
    assert not panel_readiness({}, 10).ready
