from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.prep.schedule import WorkingHours, WorkStep, schedule


def at(day, hour, minute=0):
    return datetime(2026, 6, day, hour, minute, tzinfo=UTC)


# Monday 1 June 2026; hours 8:00 to 16:30, Monday to Friday.


def test_a_step_begins_when_there_is_work_and_ends_after_its_minutes():
    (step,) = schedule([WorkStep("dock", "", 30)], at(1, 9))
    (early,) = schedule([WorkStep("dock", "", 30)], at(1, 6))
    (weekend,) = schedule([WorkStep("dock", "", 30)], at(6, 10))

    assert (step.begins, step.ends, step.free_at) == (at(1, 9), at(1, 9, 30), at(1, 9, 30))
    assert early.begins == at(1, 8)
    assert weekend.begins == at(8, 8)


def test_work_goes_on_the_next_day_where_it_must():
    (step,) = schedule([WorkStep("sand", "", 120)], at(5, 15, 30))

    assert (step.begins, step.ends) == (at(5, 15, 30), at(8, 9))


def test_a_wait_runs_through_the_night():
    glue, clean = schedule([WorkStep("glue", "", 30, 25), WorkStep("clean", "", 10)], at(1, 15))

    assert glue.free_at == at(2, 16, 30)
    assert clean.begins == at(3, 8)


def test_a_wait_over_the_weekend_costs_no_working_day():
    _, then = schedule([WorkStep("finish", "", 30, 60), WorkStep("sand", "", 10)], at(5, 16))

    assert then.begins == at(8, 8)


def test_another_panel_is_glued_while_the_first_sets_once_the_clamps_are_off():
    first, second, again, clean = schedule(
        [
            WorkStep("glue", "", 30, 25, of="top", held_hours=1),
            WorkStep("glue", "", 30, 25, of="shelf", held_hours=1),
            WorkStep("glue", "", 30, 25, of="top", held_hours=1),
            WorkStep("clean", "", 10),
        ],
        at(1, 9),
    )

    assert (first.begins, second.begins) == (
        at(1, 9),
        at(1, 10, 30),
    )  # half an hour of work, an hour of clamps
    assert again.begins == at(2, 10, 30)  # 25 hours after 9:30
    assert clean.begins == at(3, 12)  # 25 hours after 11:00, the last of them


def test_closed_days_are_skipped():
    hours = WorkingHours(closed=frozenset({date(2026, 6, 8)}))

    assert schedule([WorkStep("dock", "", 30)], at(6, 10), hours)[0].begins == at(9, 8)


def test_hours_of_ones_own():
    hours = WorkingHours(time(18), time(21), frozenset({5, 6}))

    assert schedule([WorkStep("dock", "", 240)], at(1, 9), hours)[0].ends == at(7, 19)


@pytest.mark.parametrize(
    "wrong",
    [
        {"begins": time(17)},
        {"weekdays": frozenset()},
        {"weekdays": frozenset({7})},
    ],
)
def test_hours_without_work_are_refused(wrong):
    with pytest.raises(BadInput, match="no working hours"):
        WorkingHours(**wrong)


@pytest.mark.parametrize(
    "step", [WorkStep("x", "", -1), WorkStep("x", "", 1, -1), WorkStep("x", "", float("nan"))]
)
def test_times_below_nothing_are_refused(step):
    with pytest.raises(BadInput, match="cannot be scheduled"):
        schedule([step], at(1, 9))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(1, 900), st.integers(0, 100), st.sampled_from(["", "top", "shelf"]), st.integers(0, 5)
        ),
        min_size=1,
        max_size=7,
    ),
    st.integers(0, 20_000),
)
def test_nobody_works_out_of_hours_and_nothing_comes_before_its_turn(times, later):
    start = at(1, 0) + timedelta(minutes=later)
    steps = [
        WorkStep(f"{n}", "", float(m), float(w), of=of, held_hours=h) for n, (m, w, of, h) in enumerate(times)
    ]
    done = schedule(steps, start)

    for step in done:
        assert step.begins >= start
        for moment in (step.begins, step.ends):
            assert moment.weekday() < 5
            assert time(8) <= moment.time() <= time(16, 30)
        assert step.free_at - step.ends == timedelta(hours=step.step.wait_hours)
    for n, after in enumerate(done):
        for before in done[:n]:
            assert after.begins >= before.ends
            if not after.step.of or before.step.of in ("", after.step.of):
                assert after.begins >= before.free_at
    assert all(b.begins >= a.ends + timedelta(hours=a.step.held_hours) for a, b in pairwise(done))
