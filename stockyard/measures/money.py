"""Exact money: Decimal amounts with a currency beside them, and cents that always add up."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from fractions import Fraction
from math import lcm

from stockyard.errors import BadInput

# Minor-unit digits of the currencies that do not have two (ISO 4217:2015, table A.1).
_NO_MINOR_UNIT = frozenset("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split())
_THREE_DIGITS = frozenset("BHD IQD JOD KWD LYD OMR TND".split())


def minor_digits(currency: str) -> int:
    """How many digits stand after the decimal point in amounts of `currency` (an ISO 4217 code)."""
    return 0 if currency in _NO_MINOR_UNIT else 3 if currency in _THREE_DIGITS else 2


def smallest_unit(currency: str) -> Decimal:
    """The smallest amount that can be paid in `currency`, such as Decimal("0.01") for AUD."""
    return Decimal(1).scaleb(-minor_digits(currency))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """`amount` to the smallest unit of `currency`, halves away from zero as on an invoice."""
    return amount.quantize(smallest_unit(currency), rounding=ROUND_HALF_UP)


def exact(amount: Decimal | int | str, currency: str, where: str = "amount") -> Decimal:
    """`amount` as money of `currency`.

    Raises BadInput when it is not a finite number or has more decimals than the currency has: money is
    never rounded on the way in.
    """
    try:
        value = Decimal(amount)
    except (InvalidOperation, TypeError, ValueError):
        raise BadInput(f"{where}: {amount!r} is not an amount of money.") from None
    if not value.is_finite():
        raise BadInput(f"{where}: {amount!r} is not an amount of money.")
    cents = value.quantize(smallest_unit(currency), rounding=ROUND_HALF_UP)
    if cents != value:
        raise BadInput(
            f"{where}: {amount} has more than {minor_digits(currency)} decimals, which {currency} has not;"
            " round it as the invoice does."
        )
    return cents


def apportion(total: Decimal, weights: Sequence[Decimal | Fraction | int], currency: str) -> list[Decimal]:
    """Share `total` out in proportion to `weights` so that the shares add up to it exactly.

    Largest remainder: each share is cut to the smallest unit towards zero, and the units left over go to
    the largest remainders, the earlier of equals first. All-zero weights share equally.

    total: money of `currency`, of either sign. weights: non-negative, at least one.
    Raises BadInput when there is nothing to share among, or a weight is negative.
    """
    if not weights:
        raise BadInput("There is nothing to share the amount among.")
    parts = _whole(weights)
    if any(part < 0 for part in parts):
        raise BadInput("An amount cannot be shared by negative weights.")
    if not any(parts):
        parts = [1] * len(parts)
    units = int(total.scaleb(minor_digits(currency)).to_integral_exact())
    sign, units = (-1 if units < 0 else 1), abs(units)
    all_parts = sum(parts)
    floors = [units * part // all_parts for part in parts]
    remainders = [units * part % all_parts for part in parts]
    left = units - sum(floors)
    for index in sorted(range(len(parts)), key=lambda i: (-remainders[i], i))[:left]:
        floors[index] += 1
    return [Decimal(sign * floor).scaleb(-minor_digits(currency)) for floor in floors]


def _whole(weights: Sequence[Decimal | Fraction | int]) -> list[int]:
    """Integers in the same proportion: Decimal division would round a share, perhaps one unit too high."""
    try:
        ratios = [weight.as_integer_ratio() for weight in weights]
    except (ValueError, OverflowError):
        raise BadInput("An amount cannot be shared by weights that are no numbers.") from None
    common = lcm(*{below for _, below in ratios})
    return [above * (common // below) for above, below in ratios]


def show(amount: Decimal, currency: str) -> str:
    """`amount` as a person reads it: "1,234.50 AUD"."""
    return f"{rounded(amount, currency):,} {currency}"
