from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.make_report import OF_A_DAY, OF_DAYS, make_report
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.read_moisture import add_reading
from stockyard.timber import DefectKind, Face
from tests.conftest import NOON
from tests.services.test_allocate_plan import planned
from tests.services.yards import SPOTTED_GUM, receive

TODAY = NOON.date()


def rows(yard: Yard, name: str, **days: date) -> list[dict[str, Any]]:
    return make_report(yard.open_work, name, **days).frame.to_dict("records")  # type: ignore[arg-type]


@pytest.fixture
def worked(yard: Yard) -> Yard:
    """Two deliveries, a board lost on 20 February, and two boards that came without a docket cut today."""
    receive(yard, SPOTTED_GUM, SPOTTED_GUM, "blackbutt,1800,140,25,31.35", docket="1", day=date(2026, 1, 5))
    receive(yard, SPOTTED_GUM, docket="2", day=date(2026, 2, 2))
    dispose_board(partial(yard.open_work, now=NOON - timedelta(days=10)), "SG-0001", reason="borers")
    add_reading(yard.open_work, "SG-0002", 12.0, meter="ovendry", taken_on=date(2026, 2, 1))
    add_reading(yard.open_work, "SG-0002", 11.0, meter="ovendry", taken_on=date(2026, 3, 1))
    add_defect(yard.open_work, "SG-0003", Sketch(kind=DefectKind.DECAY, face=Face.A, box=(0, 0, 100, 50)))
    plan, _ = planned(yard)
    allocate_plan(yard.open_work, plan)
    cut_plan(yard.open_work, plan)
    return yard


def test_every_report_agrees_with_the_books(worked: Yard) -> None:
    with worked.open_work(reading=True) as work:
        for day in (date(2026, 1, 4), date(2026, 1, 31), date(2026, 2, 15), date(2026, 2, 25), TODAY):
            worth = sum((piece.value for piece in work.stock.held(day)), Decimal(0))
            told = make_report(worked.open_work, "stock", as_of=day).foot["worth"]
            aged = make_report(worked.open_work, "age", as_of=day).foot["worth"]
            assert told == aged == worth
            if day >= date(2026, 1, 5):
                assert rows(worked, "worth", until=day)[-1]["worth"] == worth

    journal = make_report(worked.open_work, "journal")
    assert journal.foot["debit"] == journal.foot["credit"]
    assert {row["kind"] for row in rows(worked, "journal")} == {"receive", "dispose", "cut"}


def test_of_every_movement_in_the_journal_debit_and_credit_are_equal(worked: Yard) -> None:
    sums: dict[int, Decimal] = {}
    for row in rows(worked, "journal"):
        debit, credit = row["debit"] or Decimal(0), row["credit"] or Decimal(0)
        sums[row["movement"]] = sums.get(row["movement"], Decimal(0)) + debit - credit

    assert len(sums) >= 4
    assert set(sums.values()) == {Decimal(0)}


def test_a_day_gone_by_is_told_as_it_was(worked: Yard) -> None:
    then = {row["board"]: row for row in rows(worked, "stock", as_of=date(2026, 2, 5))}

    assert set(then) == {"SG-0001", "SG-0002", "SG-0003", "BB-0001"}
    assert (then["SG-0002"]["moisture_pct"], then["SG-0003"]["arrived"]) == (12.0, date(2026, 2, 2))
    assert rows(worked, "moisture", as_of=date(2026, 2, 5))[1]["mean_pct"] == 12.0
    assert {row["board"]: row for row in rows(worked, "stock")}["SG-0002"]["moisture_pct"] == 11.0


def test_timber_without_a_docket_is_as_old_as_its_first_day_on_hand(worked: Yard) -> None:
    (offcut, *_) = [row for row in rows(worked, "stock") if row["kind"] == "offcut"]
    assert (offcut["docket"], offcut["arrived"]) == ("", TODAY)


def test_what_was_cut_is_told_by_supplier_and_species(worked: Yard) -> None:
    """Two boards of 2400 x 180 x 32 each gave a stave of 1220 x 140 and an offcut of 1157 x 180."""
    (row,) = rows(worked, "recovery")
    (offcuts,) = rows(worked, "offcuts")

    assert (row["boards"], row["cut_m3"]) == (2, Decimal(2 * 2400 * 180 * 32).scaleb(-9))
    assert row["staves_m3"] == Decimal(2 * 1220 * 140 * 32).scaleb(-9)
    assert row["offcuts_m3"] == offcuts["made_m3"] == Decimal(2 * 1157 * 180 * 32).scaleb(-9)
    assert (offcuts["made"], offcuts["standing"]) == (2, 2)
    assert rows(worked, "recovery", until=date(2026, 2, 28)) == []


def test_defects_are_those_of_boards_delivered_then(worked: Yard) -> None:
    (row,) = rows(worked, "defects")
    assert (row["supplier"], row["kind"], row["boards"], row["affected"]) == ("Riverbend Mill", "decay", 4, 1)
    assert rows(worked, "defects", until=date(2026, 1, 31)) == []


def test_an_empty_yard_has_every_report(yard: Yard) -> None:
    for name in (*OF_A_DAY, *OF_DAYS):
        assert make_report(yard.open_work, name).name == name


@pytest.mark.parametrize(
    ("name", "days", "faults"),
    [
        ("colour", {}, 1),
        ("stock", {"since": TODAY, "until": TODAY + timedelta(1)}, 2),
        ("worth", {"as_of": TODAY + timedelta(1)}, 2),
        ("worth", {"since": TODAY, "until": TODAY - timedelta(1)}, 1),
    ],
)
def test_what_no_report_can_be_of_is_refused_with_every_fault(
    sqlite_yard: Yard, name: str, days: dict[str, date], faults: int
) -> None:
    with pytest.raises(BadInput) as refused:
        make_report(sqlite_yard.open_work, name, **days)  # type: ignore[arg-type]
    assert len(refused.value.faults) == faults
