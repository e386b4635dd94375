"""Lengths: read from the many ways they are written into exact millimetres, and shown again."""

import re
import unicodedata
from decimal import Context, Decimal, Inexact
from enum import StrEnum
from fractions import Fraction

from stockyard.measures.number import DecimalMark, number_readings, refusal, spaces_evened

EXACT = Context(prec=80, traps=[Inexact])
"""Decimal arithmetic that never rounds: products of sizes stay exact, and would raise rather than drift."""

INCH_MM = Decimal("25.4")
FOOT_MM = Decimal("304.8")


class LengthUnit(StrEnum):
    """The units a tally gives lengths in."""

    MM = "mm"
    CM = "cm"
    M = "m"
    IN = "in"
    FT = "ft"

    @property
    def mm(self) -> Decimal:
        """One of it in mm, exact. Source: international foot of 1959, 1 in = 25.4 mm by definition."""
        return _IN_MM[self]


_IN_MM = {
    LengthUnit.MM: Decimal(1),
    LengthUnit.CM: Decimal(10),
    LengthUnit.M: Decimal(1000),
    LengthUnit.IN: INCH_MM,
    LengthUnit.FT: FOOT_MM,
}

UNIT_WORDS = {
    **dict.fromkeys(
        ["mm", "mms", "mil", "millimetre", "millimetres", "millimeter", "millimeters"], LengthUnit.MM
    ),
    **dict.fromkeys(["cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"], LengthUnit.CM),
    **dict.fromkeys(
        ["m", "mtr", "mtrs", "mt", "mts", "metre", "metres", "meter", "meters"],
        LengthUnit.M,
    ),
    **dict.fromkeys(['"', "in", "ins", "inch", "inches"], LengthUnit.IN),
    **dict.fromkeys(["'", "ft", "fts", "foot", "feet"], LengthUnit.FT),
}
"""What people call the units, in lower case and without a full stop."""


class Dimension(StrEnum):
    """Which size of a board a length is, with the sizes no board has."""

    LENGTH = "length"
    WIDTH = "width"
    THICKNESS = "thickness"

    @property
    def max_mm(self) -> Decimal:
        """Beyond this it is a slip of the pen or of the unit."""
        return {
            Dimension.LENGTH: Decimal(20_000),
            Dimension.WIDTH: Decimal(3_000),
            Dimension.THICKNESS: Decimal(600),
        }[self]

    @property
    def likely_min_mm(self) -> Decimal:
        """Below this it is not a board, though it may be a veneer or a plug.

        Decides only between two readings of one text: "2,400" mm of length is not 2.4 mm.
        """
        return {
            Dimension.LENGTH: Decimal(25),
            Dimension.WIDTH: Decimal(5),
            Dimension.THICKNESS: Decimal("0.5"),
        }[self]


MIN_SIZE_MM = Decimal(1)

_QUOTES = str.maketrans(
    {
        "′": "'", "’": "'", "‘": "'", "ʹ": "'", "´": "'", "`": "'",
        "″": '"', "”": '"', "“": '"', "ʺ": '"', "⁄": "/", "∕": "/", "‐": "-", "‑": "-", "–": "-",
    }
)  # fmt: skip
_WORD = r"[a-z]+\.?|\"|'"
_ONE = re.compile(rf"(?P<number>[0-9][0-9.,' ]*?|[.,][0-9]+)\s*(?P<unit>{_WORD})?")
_WITH_FRACTION = re.compile(
    rf"(?:(?P<whole>[0-9]{{1,4}})(?:\s*-\s*|\s+))?(?P<over>[0-9]{{1,3}})\s*/\s*(?P<under>[0-9]{{1,3}})"
    rf"\s*(?P<unit>{_WORD})?"
)
_FEET_AND = re.compile(r"(?P<feet>[0-9]{1,4})\s*(?:'|ft\.?|foot|feet)\s*-?\s*(?P<inches>\S.*)")
_INCH_ENDING = re.compile(r"\s*(?:\"|in\.?|ins\.?|inch|inches)$")
_RULE_PARTS = frozenset({2, 4, 8, 16, 32, 64})


def parse_length(
    text: str,
    unit: LengthUnit | None = None,
    *,
    decimal_mark: DecimalMark | None = None,
    dimension: Dimension | None = None,
    where: str = "length",
) -> Decimal:
    """The length that `text` states. [mm, exact, > 0]

    text: 2400, 2.4 m, 2,4m, 8'6", 8 ft 6 1/2 in, 1½ in, and for a thickness 5/4.
    unit: of a bare number; a unit in the text goes before it. A bare number without one is refused.
    decimal_mark: as in `parse_number`. dimension: checks the size against `check_size`, lets thickness be
    given on the quarter scale, and rules out the reading of an unclear number that no board can have.
    Raises BadInput when it cannot be read, can be read two ways, or is out of bounds.
    """
    readings = _readings_mm(text, unit, dimension, decimal_mark, where)
    if len(readings) > 1:
        shown = " or ".join(f"{mm.normalize():f} mm" for mm in sorted(readings))
        raise refusal(where, f"a length that is plainly {shown} (say which decimal mark is used)", text)
    return check_size(readings[0], dimension, where, text)


def check_size(mm: Decimal, dimension: Dimension | None, where: str, text: str = "") -> Decimal:
    """`mm` itself when a board can have it. [mm]

    Bounds: 1 mm at least; at most 20 m long, 3 m wide, 0.6 m thick.
    Raises BadInput otherwise. text: what was written, for the message.
    """
    found = text or f"{mm} mm"
    if not mm.is_finite() or mm < (MIN_SIZE_MM if dimension else 0):
        raise refusal(where, f"{'at least 1 mm' if dimension else 'a length above 0'}", found)
    if dimension is not None and mm > dimension.max_mm:
        raise refusal(where, f"a {dimension} of at most {dimension.max_mm} mm", found)
    if mm == 0:
        raise refusal(where, "a length above 0", found)
    return mm


def show_mm(mm: Decimal | float) -> str:
    """A length as it is written in the workshop, to a tenth of a millimetre: "2400", "31.8"."""
    shown = f"{mm:.1f}"
    return shown.removesuffix(".0")


def show_feet_inches(mm: Decimal | float, parts: int = 16) -> str:
    """A length in feet, inches and `parts` of an inch, the nearest: 8' 6 1/2".

    parts: of an inch, 1 to 64. Shorter than a foot is shown in inches alone.
    """
    units = round(Fraction(mm) / Fraction(INCH_MM) * parts)
    feet, rest = divmod(units, 12 * parts)
    whole, over = divmod(rest, parts)
    part = Fraction(over, parts)
    inches = " ".join(
        ([str(whole)] if whole or not part else [])
        + ([f"{part.numerator}/{part.denominator}"] if part else [])
    )
    return f"{feet}' {inches}\"" if feet else f'{inches}"'


def _readings_mm(
    text: str,
    unit: LengthUnit | None,
    dimension: Dimension | None,
    decimal_mark: DecimalMark | None,
    where: str,
) -> list[Decimal]:
    """Every length `text` can mean in mm: one as a rule, two when its decimal mark cannot be told."""
    plain = _plain(text)
    if len(plain) > 40:
        raise refusal(where, "a length", text)
    if (one := _ONE.fullmatch(plain)) and (numbers := number_readings(one["number"])):
        given = _unit(one["unit"], text, where) if one["unit"] else unit
        if given is None:
            raise refusal(where, "a length with its unit, such as 2400 mm", text)
        in_mm = {mark: EXACT.multiply(number, given.mm) for mark, number in numbers.items()}
        return _by_mark(in_mm, decimal_mark, dimension, where, text)
    if both := _FEET_AND.fullmatch(plain):
        inches = _INCH_ENDING.sub("", both["inches"])
        if (value := _inches(inches)) is None or value >= 12:
            raise refusal(where, "feet and then inches below 12", text)
        return [EXACT.add(EXACT.multiply(Decimal(both["feet"]), FOOT_MM), EXACT.multiply(value, INCH_MM))]
    if part := _WITH_FRACTION.fullmatch(plain):
        given = _unit(part["unit"], text, where) if part["unit"] else unit
        quarters = (
            dimension is Dimension.THICKNESS
            and part["under"] == "4"
            and not part["whole"]
            and int(part["over"]) >= 4
            and part["unit"] is None
        )
        if quarters:
            return [EXACT.multiply(Decimal(int(part["over"])) / 4, INCH_MM)]
        value = _inches(plain[: part.start("unit")].strip() if part["unit"] else plain)
        if given not in (LengthUnit.IN, LengthUnit.FT) or value is None:
            raise refusal(where, "a length; fractions are of inches or feet, in halves to 64ths", text)
        return [EXACT.multiply(value, given.mm)]
    raise refusal(where, "a length", text)


def _by_mark(
    in_mm: dict[DecimalMark | None, Decimal],
    decimal_mark: DecimalMark | None,
    dimension: Dimension | None,
    where: str,
    text: str,
) -> list[Decimal]:
    """The readings that `decimal_mark` and the sizes boards have leave standing."""
    if None in in_mm:
        return [in_mm[None]]
    likely = {mark: mm for mark, mm in in_mm.items() if dimension is None or _is_likely(mm, dimension)}
    if decimal_mark is None:
        return list((likely or in_mm).values())
    if decimal_mark not in in_mm:
        raise refusal(where, f"a length with {decimal_mark!s} as its decimal mark", text)
    if likely and decimal_mark not in likely:
        # The mark says one thing and the size another: "2,400" mm of length on a sheet of decimal commas.
        return list(in_mm.values())
    return [in_mm[decimal_mark]]


def _is_likely(mm: Decimal, dimension: Dimension) -> bool:
    return dimension.likely_min_mm <= mm <= dimension.max_mm


def _plain(text: str) -> str:
    """`text` in lower case with straight marks, and ½ written out as 1/2 behind a space."""
    if text.isascii():
        return spaces_evened(text.replace("''", '"')).lower()
    out = []
    for sign in text.translate(_QUOTES):
        drawn = unicodedata.decomposition(sign)
        if drawn.startswith("<fraction>"):
            over_under = "".join(chr(int(code, 16)) for code in drawn.split()[1:]).replace("⁄", "/")
            out.append(" " + over_under)
        else:
            out.append(sign)
    return spaces_evened("".join(out).replace("''", '"')).lower()


def _unit(word: str, text: str, where: str) -> LengthUnit:
    unit = UNIT_WORDS.get(word.rstrip("."))
    if unit is None:
        raise refusal(where, "a length in mm, cm, m, in or ft", text)
    return unit


def _inches(text: str) -> Decimal | None:
    """Whole, decimal or "6 1/2" inches; None when it is none of these."""
    if part := _WITH_FRACTION.fullmatch(text):
        if int(part["under"]) not in _RULE_PARTS or part["unit"]:
            return None
        # A fraction beside a whole number is a proper one: "1 5/4" is a slip.
        if part["whole"] and int(part["over"]) >= int(part["under"]):
            return None
        return Decimal(part["whole"] or 0) + Decimal(part["over"]) / Decimal(part["under"])
    readings = number_readings(text)
    return next(iter(readings.values())) if len(readings) == 1 else None
