"""Column types with the trade's names, the same on SQLite and on PostgreSQL."""

from collections.abc import Iterable
from datetime import UTC, datetime
from decimal import Decimal
from enum import Enum, StrEnum
from typing import Any

from sqlalchemy import JSON, BigInteger, Date, DateTime, Dialect, Double, Integer, String, Text, TypeDecorator
from sqlalchemy import Enum as EnumType

from stockyard.errors import Broken

MONEY_DECIMALS = 3  # the most any current currency has (ISO 4217), so one scale serves them all
_THOUSAND = 10**MONEY_DECIMALS

Id = BigInteger().with_variant(Integer, "sqlite")  # SQLite numbers rows itself only in plain INTEGER keys
Millimetres = Double
Percent = Double
Celsius = Double
Share = Double
Degrees = Double
Document = JSON
Day = Date
Word = Text  # of any length on both: a limit that only PostgreSQL kept would be a fault found late
Sentence = Text


class Money(TypeDecorator[Decimal]):
    """Exact money as a whole number of thousandths, so that sums in the database are exact too."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: Decimal | int | None, dialect: Dialect) -> int | None:
        """Decimal to thousandths; raises Broken rather than round."""
        if value is None:
            return None
        thousandths = value * _THOUSAND
        whole = int(thousandths)
        if whole != thousandths:
            raise Broken(f"{value} is not a payable amount; money must be rounded before it is booked.")
        return whole

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        """Thousandths to Decimal. PostgreSQL gives sums of integers as numeric, hence the int()."""
        return None if value is None else money(int(value))


class Quantity(Money):
    """An exact quantity of something counted or measured, as a whole number of thousandths."""

    cache_ok = True


def money(thousandths: int) -> Decimal:
    """An amount from its thousandths, with two decimals unless it needs the third."""
    if thousandths % 10:
        return Decimal(thousandths).scaleb(-MONEY_DECIMALS)
    return Decimal(thousandths // 10).scaleb(-2)


class Exact(TypeDecorator[Decimal]):
    """An exact decimal of any length, such as a price per metre, kept as text."""

    impl = String(40)
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """Decimal to text."""
        return None if value is None else str(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> Decimal | None:
        """Text to Decimal."""
        return None if value is None else Decimal(value)


class UtcTime(TypeDecorator[datetime]):
    """A moment: aware on both sides, UTC in the database (SQLite has no time zones of its own)."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """An aware time to UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise Broken("A time without a time zone cannot be recorded.")
        return value.astimezone(UTC).replace(tzinfo=None if dialect.name == "sqlite" else UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """A stored time as an aware one, in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def one_of(words: type[StrEnum], name: str) -> EnumType:
    """A word out of `words`, stored by its value and held to them by a CHECK named `name`."""
    return EnumType(
        words, name=name, native_enum=False, create_constraint=True, length=24, values_callable=_values
    )


def _values(words: Iterable[Enum]) -> list[str]:
    return [str(word.value) for word in words]
