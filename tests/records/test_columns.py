from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Column, Engine, Integer, MetaData, Table, func, insert, select
from sqlalchemy.exc import StatementError

from stockyard.records.columns import Exact, Money, UtcTime
from stockyard.records.connect import connect, yard_url

METADATA = MetaData()
KEPT = Table(
    "kept",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("amount", Money),
    Column("price", Exact),
    Column("at", UtcTime),
)


@pytest.fixture
def engine(yard_place: str) -> Any:
    made = connect(yard_url(yard_place))
    METADATA.create_all(made)
    yield made
    made.dispose()


def there_and_back(engine: Engine, **values: Any) -> Any:
    with engine.begin() as connection:
        connection.execute(KEPT.delete())
        connection.execute(insert(KEPT), values)
        return connection.execute(select(*(KEPT.c[name] for name in values))).one()


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(amount=st.decimals(-(10**12), 10**12, places=3), price=st.decimals(0, 10**6, places=9))
def test_money_and_prices_come_back_exactly(engine: Engine, amount: Decimal, price: Decimal) -> None:
    assert there_and_back(engine, amount=amount, price=price) == (amount, price)


def test_money_shows_two_decimals_unless_it_needs_three(engine: Engine) -> None:
    assert str(there_and_back(engine, amount=Decimal("48.2"))[0]) == "48.20"
    assert str(there_and_back(engine, amount=Decimal("48.205"))[0]) == "48.205"


def test_sums_of_money_are_exact(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(insert(KEPT), [{"amount": Decimal("0.10")}] * 30_001)
        total = connection.execute(select(func.sum(KEPT.c.amount))).scalar_one()

    assert total == Decimal("3000.10")
    assert isinstance(total, Decimal)


def test_money_is_never_rounded_on_its_way_in(engine: Engine) -> None:
    with pytest.raises(StatementError, match="not a payable amount"):
        there_and_back(engine, amount=Decimal("0.0001"))


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    at=st.datetimes(
        min_value=datetime(1970, 1, 2),  # noqa: DTZ001
        max_value=datetime(2100, 1, 1),  # noqa: DTZ001
        timezones=st.sampled_from([UTC, timezone(timedelta(hours=10)), timezone(-timedelta(hours=3.5))]),
    )
)
def test_a_moment_comes_back_as_the_same_moment_in_utc(engine: Engine, at: datetime) -> None:
    (back,) = there_and_back(engine, at=at)

    assert back == at
    assert back.tzinfo is UTC


def test_a_time_without_a_zone_is_refused(engine: Engine) -> None:
    with pytest.raises(StatementError, match="without a time zone"):
        there_and_back(engine, at=datetime(2026, 3, 2, 12))  # noqa: DTZ001


def test_nothing_stays_nothing(engine: Engine) -> None:
    assert there_and_back(engine, amount=None, price=None, at=None) == (None, None, None)
