"""Rounded figures that still add up to their rounded total."""

from collections.abc import Sequence
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal


def adding_up(values: Sequence[Decimal], digits: int) -> list[Decimal]:
    """`values` rounded to `digits` decimals so that they sum to the rounded sum of the exact ones.

    Largest remainder: all are cut down, and the units left over go to those cut most, the earlier of equals
    first. No figure moves by a whole unit of the last digit.
    """
    unit = Decimal(1).scaleb(-digits)
    total = sum(values, Decimal(0)).quantize(unit, rounding=ROUND_HALF_UP)
    cut = [value.quantize(unit, rounding=ROUND_FLOOR) for value in values]
    left = int((total - sum(cut, Decimal(0))) / unit)
    by_remainder = sorted(range(len(values)), key=lambda i: (cut[i] - values[i], i))
    for index in by_remainder[:left]:
        cut[index] += unit
    return cut
