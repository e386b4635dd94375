from datetime import date, timedelta
from math import exp, log

import pytest

from stockyard.errors import BadInput, NotFound, OutOfRange
from stockyard.records import Yard
from stockyard.services.climate_log import add_air
from stockyard.services.jobs import add_job
from stockyard.services.judge_ready import judge_ready
from stockyard.services.read_moisture import add_reading
from tests.conftest import NOON
from tests.services.yards import SPOTTED_GUM, receive

# Equation (4-5) of the Wood Handbook at 20 °C: 50 % holds wood at 9.271 %, 75 % at 14.451 % (read in a public
# fact sheet to 0.01).
DRY, DAMP = (20.0, 50.0), (20.0, 75.0)
DRY_PCT, DAMP_PCT = 9.271, 14.451
TODAY = NOON.date()


def weighed(yard: Yard, board: str, percent: float, days_ago: int) -> None:
    add_reading(yard.open_work, board, percent, meter="ovendry", taken_on=TODAY - timedelta(days=days_ago))


def test_a_board_within_two_points_of_where_it_goes_is_ready(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    weighed(yard, "SG-0001", 11.2, 1)
    weighed(yard, "SG-0002", 11.4, 1)

    first, second = judge_ready(yard.open_work, to_air=DRY, at_shop=DRY).boards

    assert first.readiness.ready
    assert first.readiness.high_pct == pytest.approx(DRY_PCT + 2, abs=0.001)
    assert not second.readiness.ready
    assert second.readiness.why_not == ("11.4 % is above 11.3 %.",)


def test_a_drying_board_is_ready_on_the_day_its_curve_says(yard: Yard) -> None:
    """On M(t) = E + (M0 - E) exp(-kt) what is left to go falls to 2 points at ln((M0 - E) / 2) / k."""
    receive(yard, SPOTTED_GUM)
    rate, start = 0.012, 18.0
    for days in (0, 30, 60, 89):
        weighed(yard, "SG-0001", DRY_PCT + (start - DRY_PCT) * exp(-rate * days), 90 - days)

    (judged,) = judge_ready(yard.open_work, ["SG-0001"], to_air=DRY, at_shop=DRY).boards

    expected = TODAY - timedelta(days=90) + timedelta(days=log((start - DRY_PCT) / 2) / rate)
    found = judged.readiness
    assert found.ready_on is not None
    assert abs(found.ready_on - expected) <= timedelta(days=1)
    assert found.earliest is not None
    assert found.latest is not None
    assert found.earliest < found.ready_on < found.latest
    assert found.curve is not None
    assert found.curve.half_life_days == pytest.approx(log(2) / rate, rel=0.01)


def test_air_that_holds_it_too_damp_is_the_reason_and_no_date_is_made_up(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    for days in (60, 30, 1):
        weighed(yard, "SG-0001", 14 + days / 30, days)

    (judged,) = judge_ready(yard.open_work, to_air=DRY, at_shop=DAMP).boards

    assert judged.readiness.ready_on is None
    assert "it will not come down" in judged.readiness.why_not[-1]


def test_no_data_is_never_zero_and_taken_back_readings_do_not_count(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    # Above the meter's useful range: kept raw, without a corrected figure.
    add_reading(yard.open_work, "SG-0001", 60, meter="pins", wood_c=20)
    weighed(yard, "SG-0002", 10, 1)
    with yard.open_work() as work:
        work.readings.void(2, cause="the wrong board")
        work.commit()

    first, second = judge_ready(yard.open_work, to_air=DRY, at_shop=DRY).boards

    assert first.readiness.percent is None
    assert first.newest is None
    assert len(first.readings) == 1
    assert second.readings == ()
    for judged in (first, second):
        assert judged.readiness.why_not == ("It has no moisture reading that could be corrected.",)


def test_logged_air_serves_and_what_stands_behind_it_is_said(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    add_air(yard.open_work, "shop", *DAMP, zone="Australia/Brisbane", at=NOON - timedelta(days=2))
    add_air(yard.open_work, "hall", *DRY, at=NOON - timedelta(days=2))

    sheet = judge_ready(yard.open_work, to="Hall")

    assert sheet.shop.emc_pct == pytest.approx(DAMP_PCT, abs=0.001)
    assert "75 % over the 30 days" in sheet.shop.said
    assert sheet.destination.emc_pct == pytest.approx(DRY_PCT, abs=0.001)
    assert "only 1 of the year's months" in sheet.destination.said
    assert sheet.notes == ()


def test_old_air_is_said_to_be_old(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    add_air(sqlite_yard.open_work, "shop", *DAMP, zone="Australia/Brisbane", at=NOON - timedelta(days=200))

    sheet = judge_ready(sqlite_yard.open_work)

    assert "its newest reading is 200 days old" in sheet.shop.said
    assert "the shop's own air is taken" in sheet.notes[0]
    assert sheet.destination == sheet.shop


def test_without_the_shops_air_nothing_is_guessed(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    with pytest.raises(BadInput, match="The shop's air was never logged"):
        judge_ready(sqlite_yard.open_work, to_air=DRY)
    with pytest.raises(NotFound):
        judge_ready(sqlite_yard.open_work, at_shop=DRY, to="hall")
    with pytest.raises(NotFound):
        judge_ready(sqlite_yard.open_work, ["SG-0009"], at_shop=DRY)


@pytest.mark.parametrize("air", [(68.0, 50.0), (20.0, 0.5), (20.0, 120.0)])
def test_improbable_air_by_hand_is_refused(sqlite_yard: Yard, air: tuple[float, float]) -> None:
    with pytest.raises(OutOfRange):
        judge_ready(sqlite_yard.open_work, at_shop=air)


def test_a_jobs_limits_bind_too(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    weighed(sqlite_yard, "SG-0001", 11.2, 1)
    add_job(
        sqlite_yard.open_work,
        b'{"format": "stockyard.job/1", "id": "drawer", "moisture": {"min": 8, "max": 11},'
        b' "panels": [{"id": "side", "length": 400, "width": 150, "thickness": 14,'
        b' "species": ["spotted gum"], "staves": {"min": 1, "max": 2},'
        b' "stave_width": {"min": 60, "max": 160}, "show": "one", "priority": 1}]}',
    )

    (judged,) = judge_ready(sqlite_yard.open_work, at_shop=DRY, job="drawer").boards

    assert judged.readiness.why_not == ("11.2 % is above 11.0 %.",)


def test_a_day_gone_by_is_judged_from_what_was_known_then(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM)
    weighed(sqlite_yard, "SG-0001", 14.0, 20)
    weighed(sqlite_yard, "SG-0001", 10.0, 2)

    now = judge_ready(sqlite_yard.open_work, at_shop=DRY)
    then = judge_ready(sqlite_yard.open_work, at_shop=DRY, on=TODAY - timedelta(days=10))

    assert (now.boards[0].readiness.percent, then.boards[0].readiness.percent) == (10.0, 14.0)
    with pytest.raises(BadInput, match="a day up to today"):
        judge_ready(sqlite_yard.open_work, at_shop=DRY, on=date(2026, 3, 3))


def test_boards_come_in_the_order_asked(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM, SPOTTED_GUM)
    sheet = judge_ready(sqlite_yard.open_work, ["SG-0002", "SG-0001", "SG-0002"], at_shop=DRY)
    assert [judged.piece.number for judged in sheet.boards] == ["SG-0002", "SG-0001"]
