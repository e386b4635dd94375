"""A report: a pandas table, what its columns mean, and how they add up."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

import pandas as pd


class Unit(StrEnum):
    """What a column holds."""

    TEXT = "text"
    DAY = "day"
    COUNT = "count"
    MM = "mm"
    M3 = "m3"
    PERCENT = "percent"
    MONEY = "money"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a report.

    total: it is added up at the foot. share: names of the part and the whole that it is the percentage of, so
    that the foot's is reckoned from theirs. brief: also shown where only 80 characters fit.
    """

    name: str
    title: str
    unit: Unit = Unit.TEXT
    total: bool = False
    share: tuple[str, str] | None = None
    brief: bool = True


@dataclass(frozen=True, slots=True)
class Report:
    """A table with its meaning. frame: one column for each of `columns`, in their order, without the foot.

    span: the day or days it is of, in words. notes: what a reader must know of how it was reckoned.
    """

    name: str
    title: str
    span: str
    currency: str
    columns: tuple[Column, ...]
    frame: pd.DataFrame
    notes: tuple[str, ...] = ()

    @property
    def rows(self) -> list[tuple[object, ...]]:
        """The rows as plain values, nothing known as None."""
        return [
            tuple(_known(value) for value in row) for row in self.frame.itertuples(index=False, name=None)
        ]

    @property
    def foot(self) -> Mapping[str, object]:
        """What the columns that add up come to, by name."""
        sums: dict[str, object] = {
            column.name: sum((_amount(value) for value in self.frame[column.name]), Decimal(0))
            for column in self.columns
            if column.total
        }
        for column in self.columns:
            if column.share is not None:
                sums[column.name] = percentage(*(_amount(sums[name]) for name in column.share))
        return {name: int(str(value)) if self._counts(name) else value for name, value in sums.items()}

    def _counts(self, name: str) -> bool:
        return any(column.name == name and column.unit is Unit.COUNT for column in self.columns)


def framed(columns: Sequence[Column], rows: Sequence[Sequence[object]]) -> pd.DataFrame:
    """A table of plain Python values, exact ones kept exact."""
    return pd.DataFrame(rows, columns=[column.name for column in columns], dtype=object)


def percentage(part: Decimal, whole: Decimal) -> Decimal | None:
    """`part` of `whole` to a tenth of a percent, None of nothing."""
    return (100 * part / whole).quantize(Decimal("0.1")) if whole else None


def cubic_metres(volume_mm3: int) -> Decimal:
    """A volume as reports tell it, exactly. [mm3 to m3]"""
    return Decimal(volume_mm3).scaleb(-9)


def _amount(value: object) -> Decimal:
    return Decimal(0) if _known(value) is None else Decimal(str(value))


def _known(value: object) -> object:
    return None if value is None or value != value else value
