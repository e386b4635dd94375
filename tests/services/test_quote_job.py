from decimal import Decimal

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.selection.interchange import job_document
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.habits import set_habits
from stockyard.services.quote_job import quote_job
from stockyard.services.release_plan import release_plan
from tests.builders import a_job
from tests.stocking import a_plan, keep_plan, receive


def planned(yard: Yard) -> int:
    """hall-bench with a plan whose boards stand for 48.00."""
    with yard.open_work() as work:
        plan = keep_plan(work, a_plan(receive(work, 2)))
        work.commit()
    return plan


def amounts(yard: Yard, **asked: object) -> dict[str, Decimal]:
    return {line.what: line.amount for line in quote_job(yard.open_work, "hall-bench", **asked).quote.lines}  # type: ignore[arg-type]


def test_a_quote_adds_up_to_the_cent(yard: Yard) -> None:
    plan = planned(yard)

    quoted = quote_job(yard.open_work, "hall-bench")
    quote = quoted.quote

    assert quoted.plan is not None
    assert quoted.plan.number == plan
    assert quote.lines[0].amount == Decimal("48.00")
    assert quote.cost == sum(line.amount for line in quote.lines)
    # The starting habits: profit of 20 % of the cost, GST of 10 % of the price.
    assert quote.price == (quote.cost * Decimal("1.2")).quantize(Decimal("0.01"))
    assert quote.tax == (quote.price / 10).quantize(Decimal("0.01"))
    assert quote.total == quote.price + quote.tax


def test_labour_is_the_bench_sheets_minutes_and_what_is_added(yard: Yard) -> None:
    planned(yard)
    plain, more = amounts(yard), amounts(yard, more_minutes=Decimal(90))
    # 90 minutes at the starting rate of 80 an hour.
    assert more["labour"] - plain["labour"] == Decimal("120.00")


def test_own_rates_are_used_and_named(yard: Yard) -> None:
    planned(yard)
    before = amounts(yard)
    set_habits(
        yard.open_work,
        b'{"format": "stockyard.habits/1",'
        b' "rates": {"labour": 160, "profit_pct": 20, "profit": "of the price"}}',
    )

    quoted = quote_job(yard.open_work, "hall-bench")

    assert {line.what: line.amount for line in quoted.quote.lines}["labour"] == 2 * before["labour"]
    assert quoted.quote.price == (quoted.quote.cost / Decimal("0.8")).quantize(Decimal("0.01"))
    assert any("the workshop's own labour, profit_pct, profit" in note for note in quoted.notes)


def test_panels_without_a_plan_are_bought_for_with_waste_named(yard: Yard) -> None:
    with yard.open_work() as work:
        work.jobs.keep("hall-bench", job_document(a_job()))
        work.commit()
    with pytest.raises(Refused, match="has no plan to quote from"):
        quote_job(yard.open_work, "hall-bench")

    quoted = quote_job(yard.open_work, "hall-bench", buy_at_m3=Decimal(6500))

    # 1200 x 380 x (24 + 2 x 1.5) mm is 0.012312 m3; 20 % added: 0.0147744 m3 at 6500 is 96.03.
    assert {line.what: line.amount for line in quoted.quote.lines}["timber to buy"] == Decimal("96.03")
    assert quoted.to_buy == ("top",)
    assert any("20 % is added to the net" in note for note in quoted.notes)


def test_a_released_plan_is_quoted_only_when_named(sqlite_yard: Yard) -> None:
    plan = planned(sqlite_yard)
    allocate_plan(sqlite_yard.open_work, plan)
    release_plan(sqlite_yard.open_work, plan)

    with pytest.raises(Refused):
        quote_job(sqlite_yard.open_work, "hall-bench")
    assert quote_job(sqlite_yard.open_work, "hall-bench", plan=plan).plan is not None


def test_another_jobs_plan_and_figures_below_zero_are_refused(sqlite_yard: Yard) -> None:
    plan = planned(sqlite_yard)
    with sqlite_yard.open_work() as work:
        work.jobs.keep("shelf", job_document(a_job(id="shelf")))
        work.commit()
    with pytest.raises(BadInput, match="is for hall-bench"):
        quote_job(sqlite_yard.open_work, "shelf", plan=plan)
    with pytest.raises(BadInput):
        quote_job(sqlite_yard.open_work, "hall-bench", more_minutes=Decimal(-100_000))
    with pytest.raises(BadInput):
        quote_job(sqlite_yard.open_work, "shelf", buy_at_m3=Decimal(-1))
    with pytest.raises(NotFound):
        quote_job(sqlite_yard.open_work, "hall-bank")
