"""Cells of one kind of column, each turned into a value or into what was expected of it."""

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from stockyard.errors import BadInput
from stockyard.measures.length import EXACT, Dimension, LengthUnit, check_size, parse_length
from stockyard.measures.money import minor_digits, rounded
from stockyard.measures.money_text import MAX_AMOUNT, MAX_PRICE_DECIMALS, parse_amount, parse_price
from stockyard.measures.number import DecimalMark, number_readings, parse_number
from stockyard.measures.price import PriceUnit
from stockyard.tally.header import price_unit_said
from stockyard.tally.header_words import EMPTY
from stockyard.tally.sheet import Broken, Cell, Uncomputed

MAX_QUANTITY = 10_000
MAX_TEXT = 500
MAX_RUN_MM = Decimal(10_000_000)
MAX_MOISTURE_PCT = 300
"""Green wood can hold more water than it weighs; nothing holds three times as much."""


@dataclass(frozen=True, slots=True)
class Problem:
    """What was expected of a cell. of_column: it is the column that lacks something, said once."""

    expected: str
    of_column: bool = False


T = TypeVar("T")

_ZERO = Decimal(0)

NO_UNIT = Problem(
    "a unit in the header or the cells, such as mm, or one given for the whole sheet", of_column=True
)


@dataclass(frozen=True, slots=True)
class Priced:
    """A price, and what the cell says it is for."""

    price: Decimal
    unit: PriceUnit | None


@dataclass(frozen=True, slots=True)
class Section:
    """Sizes written together: width and thickness, and the length where there are three."""

    width_mm: Decimal
    thickness_mm: Decimal
    length_mm: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Printed:
    """A figure as printed, to `decimals` places."""

    value: Decimal
    decimals: int


_UNREADABLE: dict[type, Problem] = {
    Uncomputed: Problem("a value (open the file in a spreadsheet and save it, to compute formulas)"),
    Broken: Problem("a value, not an error of the spreadsheet"),
    date: Problem("a figure or words; the spreadsheet has made a date of it (type it as text)"),
}
_TOO_LONG = Problem(f"at most {MAX_TEXT} letters")
_LONGEST_EMPTY = max(len(word) for word in EMPTY)


def read_cells(cells: Iterable[Cell], read: Callable[[str | Decimal], T]) -> dict[Cell, T | Problem | None]:
    """Each distinct cell's value: None where it is empty, a Problem where `read` raises BadInput."""
    values: dict[Cell, T | Problem | None] = {}
    for cell in set(cells):
        if isinstance(cell, Uncomputed | Broken | date):
            values[cell] = _UNREADABLE[type(cell)]
            continue
        if isinstance(cell, str):
            if len(cell) <= _LONGEST_EMPTY and cell.lower() in EMPTY:
                values[cell] = None
                continue
            if len(cell) > MAX_TEXT:
                # Before any pattern is tried on it: some would take hours over a million blanks.
                values[cell] = _TOO_LONG
                continue
        try:
            values[cell] = read(cell)
        except BadInput as bad:
            problem = Problem(bad.faults[0].expected if bad.faults else bad.message)
            values[cell] = NO_UNIT if problem.expected.startswith("a length with its unit") else problem
    return values


def length_reader(
    dimension: Dimension, unit: LengthUnit | None, mark: DecimalMark | None
) -> Callable[[str | Decimal], Decimal]:
    """Of cells that hold one size of a board. [mm]"""

    def _read(cell: str | Decimal) -> Decimal:
        if isinstance(cell, str):
            return parse_length(cell, unit, decimal_mark=mark, dimension=dimension)
        if unit is None:
            return parse_length(f"{cell:f}", None)
        return check_size(EXACT.multiply(cell, unit.mm), dimension, "cell", f"{cell} {unit}")

    return _read


def run_reader(unit: LengthUnit, mark: DecimalMark | None) -> Callable[[str | Decimal], Decimal]:
    """Of cells that hold lineal metres or feet, however many. [mm]"""

    def _read(cell: str | Decimal) -> Decimal:
        if isinstance(cell, str):
            text = re.sub(r"(?i)\s*(?:l/?m|lin\.? ?m|lineal metres?|metres?)\.?$", "", cell)
            mm = parse_length(text, unit, decimal_mark=mark)
        else:
            mm = EXACT.multiply(cell, unit.mm)
        return _bounded(
            mm, Decimal(0), MAX_RUN_MM, f"more than 0 and at most {MAX_RUN_MM / 1000:,.0f} m", open_=True
        )

    return _read


def section_reader(
    order: str, unit: LengthUnit | None, mark: DecimalMark | None, *, anywhere: bool = False
) -> Callable[[str | Decimal], Section]:
    """Of cells such as "200 x 50", "8x2 in", "2400 x 200 x 50".

    order: of the figures, from the header; "" takes the larger of two for the width, and of three the
    smallest, first or last, for the thickness and the middle one for the width. anywhere: the sizes stand
    among other words.
    """

    def _read(cell: str | Decimal) -> Section:
        found = SIZES.search(cell) if isinstance(cell, str) else None
        if found is None or (not anywhere and found.span() != (0, len(str(cell)))):
            raise BadInput("sizes such as 200 x 50")
        parts = [part.strip() for part in _TIMES.split(found[0].strip())]
        trailing = re.search(r"[a-z\"']+\.?$", parts[-1].lower())
        units = [
            part if re.search(r"[a-zA-Z\"']", part) or not trailing else f"{part} {trailing[0]}"
            for part in parts
        ]
        return _section(units, order, unit, mark)

    return _read


_FIGURE = (
    r"[0-9]+(?:[.,][0-9]+)?(?:[ -][0-9]+/[0-9]+|/[0-9]+|[ ]?[¼½¾⅛⅜⅝⅞])?\s*"
    r"(?:mm|cm|m|in|ins|inch|inches|ft|\"|')?\.?"
)
_TIMES = re.compile(r"\s*[xX×*]\s*")
SIZES = re.compile(rf"(?<![0-9.,/]){_FIGURE}(?:\s*[xX×*]\s*{_FIGURE}){{1,2}}(?![0-9a-zA-Z])")


def _section(parts: list[str], order: str, unit: LengthUnit | None, mark: DecimalMark | None) -> Section:
    def _size(text: str, dimension: Dimension) -> Decimal:
        return parse_length(text, unit, decimal_mark=mark, dimension=dimension)

    if len(parts) == 2:
        if order in ("WT", "TW"):
            return Section(
                _size(parts[order.index("W")], Dimension.WIDTH),
                _size(parts[order.index("T")], Dimension.THICKNESS),
            )
        first, second = (_size(part, Dimension.WIDTH) for part in parts)
        wide, thick = (parts[0], parts[1]) if first >= second else (parts[1], parts[0])
        return Section(_size(wide, Dimension.WIDTH), _size(thick, Dimension.THICKNESS))
    if order not in ("LWT", "TWL"):
        ends = [_size(parts[index], Dimension.LENGTH) for index in (0, 2)]
        middle = _size(parts[1], Dimension.LENGTH)
        if min(ends) > middle or ends[0] == ends[1]:
            raise BadInput("length x width x thickness, or thickness x width x length")
        order = "LWT" if ends[1] < ends[0] else "TWL"
    return Section(
        _size(parts[1], Dimension.WIDTH),
        _size(parts[order.index("T")], Dimension.THICKNESS),
        _size(parts[order.index("L")], Dimension.LENGTH),
    )


def quantity_of(cell: str | Decimal) -> int:
    """Of cells that count pieces."""
    if isinstance(cell, str):
        text = re.sub(
            r"(?i)\s*(?:pcs?|pces?|pieces?|no|off|ea|each|boards?|lengths?|x)\.?$", "", cell
        ).strip()
        readings = number_readings(text)
        whole = [value for value in readings.values() if value == value.to_integral_value()]
        # "1,200" is twelve hundred pieces; 1.2 of a piece is no other reading.
        cell = whole[0] if len(whole) == 1 else Decimal("NaN")
    if not cell.is_finite() or cell != cell.to_integral_value() or not 1 <= cell <= MAX_QUANTITY:
        raise BadInput(f"a whole number of pieces, 1 to {MAX_QUANTITY:,}")
    return int(cell)


def count_of_total(cell: str | Decimal, mark: DecimalMark | None) -> Decimal:
    """Of cells that hold the sum of a count, which may be larger than any count."""
    return (
        cell
        if isinstance(cell, Decimal)
        else parse_number(re.sub(r"(?i)\s*(?:pcs?|pieces?|boards?)\.?$", "", cell), mark)
    )


def figure_reader(mark: DecimalMark | None) -> Callable[[str | Decimal], Printed]:
    """Of cells that hold a volume, whatever its unit."""

    def _read(cell: str | Decimal) -> Printed:
        if isinstance(cell, str):
            text = re.sub(
                r"(?i)\s*(?:m3|m³|cbm|cu\.? ?m|bf|bd\.? ?ft|ft3|cu\.? ?ft|mbf|sft|super ?f(?:ee)?t)\.?$",
                "",
                cell,
            )
            value = parse_number(text, mark)
        else:
            value = cell
        value = _bounded(value, Decimal(0), Decimal(10_000_000), "a volume of 0 or more")
        return Printed(value, max(0, -int(value.as_tuple().exponent)))

    return _read


def price_reader(currency: str, mark: DecimalMark | None) -> Callable[[str | Decimal], Priced]:
    """Of cells that hold a price, perhaps with what it is for: "$65.00/lm"."""

    def _read(cell: str | Decimal) -> Priced:
        if isinstance(cell, Decimal):
            price = _bounded(cell, Decimal(0), MAX_AMOUNT, "a price of 0 or more")
            return Priced(
                round(price, MAX_PRICE_DECIMALS) if -int(price.as_tuple().exponent) > 6 else price, None
            )
        unit = None
        if (parts := _PRICE.fullmatch(cell)) and parts[2] and (unit := price_unit_said(parts[2])):
            code = re.match(r"([A-Za-z]{3}) ?(?:/|per\b)", parts[2])
            cell = f"{parts[1]} {code[1]}" if code and not price_unit_said(code[1]) else parts[1]
        return Priced(parse_price(cell, currency, decimal_mark=mark), unit)

    return _read


_PRICE = re.compile(r"\s*([^0-9]{0,6}[0-9][0-9.,' ]*?-?\)?)\s*((?:/|[A-Za-z]).*)?", re.DOTALL)


def amount_reader(currency: str, mark: DecimalMark | None) -> Callable[[str | Decimal], Decimal]:
    """Of cells that hold a row's money.

    A spreadsheet's number is taken as it shows it, in whole cents; written text must be in cents already.
    """

    def _read(cell: str | Decimal) -> Decimal:
        if isinstance(cell, Decimal):
            amount = rounded(_bounded(cell, Decimal(0), MAX_AMOUNT, "an amount of 0 or more"), currency)
        else:
            amount = parse_amount(cell, currency, decimal_mark=mark)
        return _bounded(amount, _ZERO, MAX_AMOUNT, "an amount of 0 or more")

    return _read


def is_finer_than_cents(cell: Cell, currency: str) -> bool:
    """Does a spreadsheet's number have more decimals than the money it stands for?"""
    return isinstance(cell, Decimal) and -int(cell.normalize().as_tuple().exponent) > minor_digits(currency)


def price_unit_of(cell: str | Decimal) -> PriceUnit:
    """Of cells that say what a price is for."""
    unit = price_unit_said(cell) if isinstance(cell, str) else None
    if unit is None:
        raise BadInput("piece, lineal metre, m3, board foot, 100 super feet or lot")
    return unit


def moisture_reader(mark: DecimalMark | None) -> Callable[[str | Decimal], Decimal | str]:
    """Of cells that hold a moisture content [percent], or words such as "KD" or "10-12%"."""

    def _read(cell: str | Decimal) -> Decimal | str:
        if isinstance(cell, Decimal):
            # Cells shown as percent hold a fraction, and no wood on sale holds less than one percent.
            value = cell * 100 if 0 < cell < 1 else cell
        else:
            text = cell.removesuffix("%").strip()
            if not number_readings(text):
                return text_of(cell)
            value = parse_number(text, mark)
        return _bounded(value, Decimal(1), Decimal(MAX_MOISTURE_PCT), f"1 to {MAX_MOISTURE_PCT} percent")

    return _read


def text_of(cell: str | Decimal) -> str:
    """Of cells that hold words: one line, without signs that cannot be seen."""
    text = f"{cell:f}" if isinstance(cell, Decimal) else cell
    if len(text) <= MAX_TEXT and text.isascii() and text.isprintable() and "  " not in text:
        return text
    if not (text.isascii() and text.isprintable()):
        text = "".join(sign for sign in text if unicodedata.category(sign) != "Cf")
    text = " ".join(text.split())
    if len(text) > MAX_TEXT:
        raise BadInput(f"at most {MAX_TEXT} letters")
    if not text.isprintable():
        raise BadInput("words without control characters")
    return text


_ALIKE = str.maketrans("23456789", "11111111")
_FIGURES = re.compile(r"[0-9][0-9.,']*[0-9]")


def decimal_mark_shown(cells: Iterable[Cell]) -> DecimalMark | None:
    """The decimal mark that these cells plainly use; None where none does, or they differ."""
    texts = [cell[:60] for cell in set(cells) if isinstance(cell, str) and ("." in cell or "," in cell)]
    # 7.25 and 1.25 show the same: with all figures but zeros alike there are few shapes to look at.
    shapes = set(_FIGURES.findall("\n".join(texts).translate(_ALIKE)))
    marks: set[DecimalMark] = set()
    for shape in shapes:
        readings = number_readings(shape)
        marks |= {mark for mark in readings if mark} if len(readings) == 1 else set()
    return marks.pop() if len(marks) == 1 else None


def _bounded(value: Decimal, low: Decimal, high: Decimal, expected: str, *, open_: bool = False) -> Decimal:
    if not value.is_finite() or not low <= value <= high or (open_ and value == low):
        raise BadInput(expected)
    return value
