"""How figures of reports stand in a table, and how long a bar beside them is."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from stockyard.web.pages import day, money
from stockyard.web.ways import Ways

BAR_PX = 120.0
"""The longest bar."""


def cell(unit: str, value: object, ways: Ways) -> str:
    """A value of a report as a person reads it; "" for nothing known. unit: a word of reports' Unit."""
    if value is None:
        return ""
    if isinstance(value, date):
        return day(value)
    if isinstance(value, bool | str):
        return str(value)
    if isinstance(value, int | float | Decimal):
        if unit == "money":
            return money(Decimal(str(value)))
        if unit == "mm":
            return ways.length(float(value))
        if unit == "m3":
            return f"{value:,.4f}"
        if unit == "percent":
            return f"{value:.1f} %"
        if unit == "count":
            return f"{value:,}"
    return str(value)


def shares(amounts: Sequence[Decimal], most: Decimal) -> list[float]:
    """How long a bar stands for each amount, to a tenth. [px]"""
    return [
        round(BAR_PX * float(max(amount, Decimal(0)) / most), 1) if most > 0 else 0.0 for amount in amounts
    ]
