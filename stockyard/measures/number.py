"""Numbers as people write them: decimal points and commas, thousands, and what cannot be told apart."""

import re
from decimal import Decimal
from enum import StrEnum

from stockyard.errors import BadInput, Fault

MAX_DIGITS = 18
"""Longer figures are no measure of timber or money, and only slow things down."""

_SPACES = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u202f\u2002\u2003\t\r\n", " "))
_PLAIN = re.compile(r"[0-9]+")
_ONE_MARK = re.compile(r"([0-9]*)([.,])([0-9]*)")
_GROUPED = re.compile(r"[0-9]{1,3}(?:([.,' ’])[0-9]{3})(?:\1[0-9]{3})*")
_GROUPED_DECIMAL = re.compile(r"([0-9]{1,3}(?:([.,' ’])[0-9]{3})(?:\2[0-9]{3})*)([.,])([0-9]*)")


class DecimalMark(StrEnum):
    """What parts the whole from the fraction."""

    POINT = "."
    COMMA = ","

    @property
    def other(self) -> "DecimalMark":
        """The mark that then groups thousands."""
        return DecimalMark.COMMA if self is DecimalMark.POINT else DecimalMark.POINT


def refusal(where: str, expected: str, found: str) -> BadInput:
    """BadInput with one Fault: what stands at `where` is not what was expected."""
    shown = found if len(found) <= 40 else found[:37] + "..."
    fault = Fault(where, expected, repr(shown) if shown else "nothing")
    return BadInput(f"{fault}.", [fault])


def spaces_evened(text: str) -> str:
    """`text` with every kind of space as a plain one, runs of them as one, and none at its ends."""
    return " ".join(text.translate(_SPACES).split())


def number_readings(text: str) -> dict[DecimalMark | None, Decimal]:
    """Every number that `text` can mean, by the decimal mark it is then written with.

    One entry under None: the text shows no mark and can be read one way only. One entry under a mark: the
    text itself shows which mark it uses. Two entries: "2,400" and the like, which cannot be told apart from
    the text alone. None at all: not a number. Signs, exponents and units are not numbers here.
    """
    text = spaces_evened(text)
    if len(text) > MAX_DIGITS + 8 or (not text.isascii() and "’" not in text):
        return {}
    if _PLAIN.fullmatch(text):
        return {None: Decimal(text)} if len(text) <= MAX_DIGITS else {}
    if one := _ONE_MARK.fullmatch(text):
        whole, mark, part = one[1], DecimalMark(one[2]), one[3]
        if not whole and not part:
            return {}
        as_decimal = Decimal(f"{whole or '0'}.{part or '0'}")
        if len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
            return {mark: as_decimal, mark.other: Decimal(whole + part)}
        return {mark: as_decimal}
    if grouped := _GROUPED.fullmatch(text):
        if text[0] == "0":
            return {}
        digits = Decimal(re.sub(r"[^0-9]", "", text))
        return {DecimalMark(grouped[1]).other if grouped[1] in ".," else None: digits}
    if (both := _GROUPED_DECIMAL.fullmatch(text)) and both[2] != both[3] and text[0] != "0":
        return {DecimalMark(both[3]): Decimal(re.sub(r"[^0-9]", "", both[1]) + "." + (both[4] or "0"))}
    return {}


def parse_number(text: str, decimal_mark: DecimalMark | None = None, where: str = "number") -> Decimal:
    """The one number that `text` means. [exact, >= 0]

    decimal_mark: the mark the whole document uses, where known; it decides "2,400", and a text that plainly
    uses the other mark is then refused.
    Raises BadInput when it is no number, or could be two.
    """
    readings = number_readings(text)
    if not readings:
        raise refusal(where, "a number", text)
    if None in readings:
        return readings[None]
    if decimal_mark is not None:
        if decimal_mark not in readings:
            raise refusal(where, f"a number with {decimal_mark!s} as its decimal mark", text)
        return readings[decimal_mark]
    if len(readings) > 1:
        meanings = " or ".join(f"{value:f}" for value in sorted(readings.values()))
        raise refusal(where, f"a number that is plainly {meanings} (say which decimal mark is used)", text)
    return next(iter(readings.values()))
