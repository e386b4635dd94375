"""Amounts and prices as they stand on dockets, read into exact Decimals."""

import re
from decimal import Decimal

from stockyard.errors import BadInput
from stockyard.measures.money import minor_digits
from stockyard.measures.number import DecimalMark, number_readings, refusal, spaces_evened

MAX_AMOUNT = Decimal(1_000_000_000)
"""More than any docket comes to."""

MAX_PRICE_DECIMALS = 6
"""Prices per lineal metre are quoted to fractions of a cent, hardly finer."""

_SIGNS = {
    "€": {"EUR"},
    "£": {"GBP", "EGP", "FKP", "GIP", "SHP"},
    "¥": {"JPY", "CNY"},
    "₹": {"INR"},
    "a$": {"AUD"},
    "au$": {"AUD"},
    "nz$": {"NZD"},
    "us$": {"USD"},
    "c$": {"CAD"},
    "ca$": {"CAD"},
    "s$": {"SGD"},
    "hk$": {"HKD"},
    "rm": {"MYR"},
    "chf": {"CHF"},
    "kr": {"SEK", "NOK", "DKK", "ISK"},
}
_DOLLARS = {"AUD", "NZD", "USD", "CAD", "SGD", "HKD", "FJD", "TWD", "BND", "PGK"}
_PLAIN = re.compile(r"[0-9]{1,9}\.[0-9]{2}")
_CODE = re.compile(r"[A-Za-z]{3}")
_AMOUNT = re.compile(
    r"(?P<open>\()?\s*(?P<minus>[-−])?\s*(?P<before>[^\d\s.,()\-−]+)?\s*(?P<minus_in>[-−])?\s*"
    r"(?P<number>[0-9.,][0-9.,' ’]*?)\s*(?P<after>[^\d\s.,()\-−]+)?\s*(?P<minus_end>[-−])?\s*(?P<close>\))?"
)


def parse_amount(
    text: str, currency: str, *, decimal_mark: DecimalMark | None = None, where: str = "amount"
) -> Decimal:
    """A sum of money as written: "$1,234.50", "1.234,50 €", "(12.00)" or "12.00-" below zero.

    currency: its ISO 4217 code; a sign or code of another currency in the text is refused. decimal_mark: as
    in `parse_number`; without it "12,345" is refused, being either too fine or twelve thousand, unless the
    currency has no coins below its unit.
    Raises BadInput when it is not a sum of money, or has more decimals than the currency has.
    """
    digits = minor_digits(currency)
    return _parse(text, currency, decimal_mark, where, digits)


def parse_price(
    text: str, currency: str, *, decimal_mark: DecimalMark | None = None, where: str = "price"
) -> Decimal:
    """A price for one unit as written; like `parse_amount` but to six decimals. [>= 0]

    Raises BadInput when it is not a price, is below zero, or can be read two ways.
    """
    price = _parse(text, currency, decimal_mark, where, MAX_PRICE_DECIMALS)
    if price < 0:
        raise refusal(where, "a price of 0 or more", text)
    return price


def _parse(
    text: str,
    currency: str,
    decimal_mark: DecimalMark | None,
    where: str,
    max_decimals: int,
) -> Decimal:
    if _PLAIN.fullmatch(text) and decimal_mark is not DecimalMark.COMMA and max_decimals >= 2:
        # By far the commonest way of writing a sum, and it can be read in no other.
        return Decimal(text)
    parts = _AMOUNT.fullmatch(spaces_evened(text)) if len(text) <= 60 else None
    minuses = sum(1 for part in ("minus", "minus_in", "minus_end", "open") if parts and parts[part])
    if parts is None or minuses > 1 or bool(parts["open"]) != bool(parts["close"]):
        raise refusal(where, f"an amount in {currency}", text)
    _check_currency([sign for sign in (parts["before"], parts["after"]) if sign], currency, where, text)
    readings = number_readings(parts["number"])
    if max_decimals == 0 and len(readings) > 1 and decimal_mark is None:
        readings = {mark: value for mark, value in readings.items() if _decimals(value) == 0}
    if decimal_mark is not None and readings and None not in readings:
        if decimal_mark not in readings:
            raise refusal(where, f"an amount with {decimal_mark!s} as its decimal mark", text)
        readings = {decimal_mark: readings[decimal_mark]}
    if len(readings) > 1:
        shown = " or ".join(f"{value:f}" for value in sorted(readings.values()))
        raise refusal(where, f"an amount that is plainly {shown} (say which decimal mark is used)", text)
    if not readings:
        raise refusal(where, f"an amount in {currency}", text)
    value = next(iter(readings.values()))
    if _decimals(value) > max_decimals:
        raise refusal(where, f"at most {max_decimals} decimals", text)
    if value > MAX_AMOUNT:
        raise refusal(where, f"at most {MAX_AMOUNT:,}", text)
    return -value if minuses and value else value


def _decimals(value: Decimal) -> int:
    """How many decimals `value` needs; zeros at the end are not needed."""
    return max(0, -int(value.normalize().as_tuple().exponent))


def _check_currency(signs: list[str], currency: str, where: str, text: str) -> None:
    for sign in signs:
        word = sign.lower()
        if word == "$":
            fits = currency in _DOLLARS
        elif word in _SIGNS:
            fits = currency in _SIGNS[word]
        elif _CODE.fullmatch(sign.rstrip("$")):
            fits = sign.rstrip("$").upper() == currency
        else:
            raise refusal(where, f"an amount in {currency}", text)
        if not fits:
            raise refusal(where, f"an amount in {currency}, not in another currency", text)


def check_currency(code: str, where: str = "currency") -> str:
    """`code` itself when it has the shape of an ISO 4217 code, such as "AUD".

    Raises BadInput otherwise.
    """
    if not (len(code) == 3 and code.isascii() and code.isalpha() and code.isupper()):
        raise BadInput(f"{where}: {code!r} is not a currency code; give three capitals such as AUD.")
    return code
