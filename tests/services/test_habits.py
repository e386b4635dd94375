import json
from datetime import date, time
from decimal import Decimal
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.moisture.readiness import ReadyRule
from stockyard.prep.bench import PrepHabits
from stockyard.prep.joints import JointKind
from stockyard.prep.quote import Profit, Rates
from stockyard.records import Yard
from stockyard.services.habits import document_of, own_or_default, set_habits, show_habits


def document(**sections: Any) -> bytes:
    return json.dumps({"format": "stockyard.habits/1", **sections}).encode()


def test_a_new_workshop_has_the_trades_defaults(yard: Yard) -> None:
    habits = show_habits(yard.open_work)

    assert (habits.ready, habits.prep, habits.rates, habits.own) == (ReadyRule(), PrepHabits(), Rates(), ())
    assert own_or_default(habits, "glue") == "the trade's defaults"


def test_what_a_workshop_says_of_its_own_stands_and_the_rest_stays(yard: Yard) -> None:
    set_habits(
        yard.open_work,
        document(
            ready={"min_pct": 8, "within_pct": 1.5, "newest_days": 14},
            treatment={"mix": [1, 1], "overfill": 0.2},
            joints={"kind": "dowel", "pitch_mm": 150},
            glue={"clamp_n": 2500},
            work={"grits": [100, 150], "coats": 4},
            hours={"begins": "07:30", "weekdays": [0, 1, 5], "closed": ["2026-12-25"]},
            rates={"labour": 95.5, "profit": "of the price"},
        ),
    )

    habits = show_habits(yard.open_work)

    assert (habits.ready.min_pct, habits.ready.within_pct, habits.ready.newest_days) == (8, 1.5, 14)
    assert habits.ready.spread_pct == ReadyRule().spread_pct
    assert (habits.prep.treatment.mix, habits.prep.treatment.overfill) == ((1, 1), 0.2)
    assert (habits.prep.joints.kind, habits.prep.joints.pitch_mm) == (JointKind.DOWEL, 150)
    assert (habits.prep.glue.clamp_n, habits.prep.glue.pressure_mpa) == (2500, 1.2)
    assert (habits.prep.work.grits, habits.prep.work.coats) == ((100, 150), 4)
    assert habits.prep.hours.begins == time(7, 30)
    assert habits.prep.hours.weekdays == {0, 1, 5}
    assert habits.prep.hours.closed == {date(2026, 12, 25)}
    assert (habits.rates.labour, habits.rates.profit) == (Decimal("95.5"), Profit.MARGIN)
    assert own_or_default(habits, "glue") == "the workshop's own clamp_n, else defaults"


def test_what_is_shown_can_be_handed_in_again(sqlite_yard: Yard) -> None:
    first = set_habits(sqlite_yard.open_work, document(glue={"clamp_n": 2500}, hours={"begins": "07:30"}))
    again = set_habits(sqlite_yard.open_work, json.dumps(document_of(first)).encode())

    assert (again.ready, again.prep, again.rates) == (first.ready, first.prep, first.rates)


def test_every_fault_is_named_with_its_place_and_nothing_is_kept(sqlite_yard: Yard) -> None:
    bad = document(
        glue={"clamp_n": 0, "pressure": 1},
        rates={"labour": -1, "profit": "of the moon"},
        hours={"begins": "half past", "weekdays": [7], "closed": ["soon"]},
        treatment={"mix": [1], "overfill": 3},
        work={"grits": ["fine"], "coats": 2.5},
        ready={"within_pct": "two"},
        polish={},
    )
    with pytest.raises(BadInput) as refused:
        set_habits(sqlite_yard.open_work, bad)

    assert {fault.where for fault in refused.value.faults} == {
        "glue.clamp_n", "glue.pressure", "rates.labour", "rates.profit", "hours.begins", "hours.weekdays[0]",
        "hours.closed[0]", "treatment.mix", "treatment.overfill", "work.grits[0]", "work.coats",
        "ready.within_pct", "polish",
    }  # fmt: skip
    assert show_habits(sqlite_yard.open_work).own == ()


@pytest.mark.parametrize("content", [b"{", b"[]", b'{"format": "stockyard.job/1"}', b'"glue"'])
def test_what_is_no_habits_document_is_refused(sqlite_yard: Yard, content: bytes) -> None:
    with pytest.raises(BadInput):
        set_habits(sqlite_yard.open_work, content)


def test_a_closing_time_before_the_opening_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput, match="no working hours"):
        set_habits(sqlite_yard.open_work, document(hours={"begins": "18:00"}))
    assert show_habits(sqlite_yard.open_work).own == ()
