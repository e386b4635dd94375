"""Headers: what one says, and which row of a sheet they are."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from stockyard.errors import BadInput
from stockyard.measures.length import UNIT_WORDS, LengthUnit
from stockyard.measures.price import PriceUnit
from stockyard.tally import header_words as words
from stockyard.tally.sheet import Cell, Sheet, shown
from stockyard.tally.tally import Role

HEADER_WITHIN_ROWS = 60
"""How far down a sheet its header is looked for."""

MAX_HEADER_LENGTH = 120

SIZE_ROLES = frozenset(
    {Role.LENGTH, Role.WIDTH, Role.THICKNESS, Role.SECTION, Role.SIZE, Role.LINEAL_METRES, Role.DESCRIPTION}
)

_UNIT_WORD = "|".join(
    sorted((re.escape(word) for word in UNIT_WORDS if word.isalpha()), key=len, reverse=True)
)
_BRACKETED_UNIT = re.compile(rf"[(\[{{]\s*(?:in )?({_UNIT_WORD}|\"|')\.?\s*[)\]}}]")
_TRAILING_UNIT = re.compile(rf"(?:(?<=\w)[ ,/:\-_]+(?:in )?({_UNIT_WORD})\.?|(?<=\w)\s*(\"|'))\s*$")
_ONLY_UNIT = re.compile(rf"[(\[]?\s*(?:in )?({_UNIT_WORD}|\"|')\.?\s*[)\]]?")
_ALL_SIZES_IN = re.compile(
    rf"\b(?:sizes?|dimensions?|measurements?|lengths?)\b[^.;]{{0,30}}?\bin ({_UNIT_WORD})\b", re.IGNORECASE
)
_MEASURES = tuple(
    (unit, re.compile(rf"(?<![a-z0-9])(?:{pattern})(?![a-z0-9])")) for unit, pattern in words.MEASURES
)
_VOLUMES = frozenset(
    {PriceUnit.M3, PriceUnit.BOARD_FOOT, PriceUnit.THOUSAND_BOARD_FEET, PriceUnit.CUBIC_FOOT,
     PriceUnit.HUNDRED_SUPER_FEET}
)  # fmt: skip
_LENGTHS_RUN = {PriceUnit.LINEAL_METRE: LengthUnit.M, PriceUnit.LINEAL_FOOT: LengthUnit.FT}


@dataclass(frozen=True, slots=True)
class Heading:
    """What a header says of its column.

    unit: of lengths. measure: of a volume, or what a price is for. each: True when it is of one piece, False
    when of the row. tax: whether the money has tax in it. order: of the figures of a section, "WT", "LWT" ...
    maybe_row_number: pieces on one sheet, row numbers on another.
    """

    role: Role
    unit: LengthUnit | None = None
    measure: PriceUnit | None = None
    each: bool | None = None
    tax: bool | None = None
    order: str = ""
    maybe_row_number: bool = False


@dataclass(frozen=True, slots=True)
class Header:
    """The header of a sheet: its rows [first, last] as indexes into the sheet, and the columns."""

    first: int
    last: int
    texts: tuple[str, ...]
    headings: tuple[Heading | None, ...]

    @property
    def score(self) -> int:
        """How many different roles it names and, between equals, how many units."""
        known = [heading for heading in self.headings if heading]
        return 100 * len({heading.role for heading in known}) + sum(
            heading.unit is not None or heading.measure is not None for heading in known
        )


def plain(text: str) -> str:
    """A header's text in lower case, one line, without odd signs."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().replace("_", " ").split())


@lru_cache(maxsize=4096)
def read_heading(text: str) -> Heading | None:
    """What a header's text says; None when it says nothing that is known."""
    low = plain(text).replace("×", "x").replace("″", '"').replace("′", "'").replace("''", '"')
    if not low:
        return None
    tax = False if words.TAX_OUT.search(low) else True if words.TAX_IN.search(low) else None
    low = words.TAX_IN.sub(" ", words.TAX_OUT.sub(" ", low)).strip(" -,:")
    if money := _money(low, tax):
        return money
    if any(pattern.fullmatch(low) for measure, pattern in _MEASURES if measure is not PriceUnit.PIECE):
        # "L/M" is lineal metres, not a length in metres.
        return _measured(low, None)
    unit, low = _unit_apart(low)
    name = _name(low)
    if name != "#":
        name = name.replace("#", "no")
    if name in words.NAMES and not (words.NAMES[name] is Role.QUANTITY and unit):
        role = words.NAMES[name]
        return Heading(role, unit, order=_order(low, role), maybe_row_number=name in words.ROW_OR_COUNT)
    if name in words.ROW_OR_COUNT:
        return Heading(Role.QUANTITY, maybe_row_number=True)
    if quantity := _measured(low, unit):
        return quantity
    if name in ("total", "metres", "meters", "mtrs") and (unit is LengthUnit.M or name != "total"):
        return Heading(Role.LINEAL_METRES, LengthUnit.M)
    return None


def _unit_apart(low: str) -> tuple[LengthUnit | None, str]:
    """The unit of length that a header names, and the header without it."""
    if found := _BRACKETED_UNIT.search(low):
        return UNIT_WORDS[found[1]], low[: found.start()] + " " + low[found.end() :]
    if found := _TRAILING_UNIT.search(low):
        return UNIT_WORDS[found[1] or found[2]], low[: found.start()]
    return None, low


def _money(low: str, tax: bool | None) -> Heading | None:
    sign = words.CURRENCIES.search(low)
    priced = words.PRICE_WORDS.search(low)
    amount = words.AMOUNT_WORDS.search(low)
    measure = _measure(low)
    if words.PER_METRE.search(low):
        measure = PriceUnit.LINEAL_METRE
    elif words.PER_FOOT.search(low):
        measure = PriceUnit.LINEAL_FOOT
    if amount and (sign or not measure) and not (priced and re.search(r"\bunit\b|/|\bper\b", low)):
        if _name(low) in words.NAMES:
            return None
        if amount[0].strip().startswith("net") and not (sign or priced):
            return None
        if low.strip() == "total" or measure is None or sign or priced:
            return Heading(Role.AMOUNT, tax=tax)
    if priced or (sign and (measure or _name(words.CURRENCIES.sub(" ", low)) == "")):
        if _name(low) in words.NAMES and words.NAMES[_name(low)] is Role.PRICE_UNIT:
            return None
        if priced is None and measure is None:
            return Heading(Role.AMOUNT, tax=tax)
        if re.search(r"\bunit (?:price|cost|rate)\b", low) and measure is PriceUnit.PIECE:
            # A unit price is for whatever unit the line is sold by.
            measure = _measure(re.sub(r"\bunit\b", " ", low))
        return Heading(Role.PRICE, measure=measure, tax=tax)
    return None


def _measured(low: str, unit: LengthUnit | None) -> Heading | None:
    """Volume and lineal-metre columns, which are named by their unit or with it."""
    each = (
        True
        if re.search(r"\b(?:each|ea|per (?:piece|pc|board)|/ ?(?:pc|pce|piece|board|ea))\b", low)
        else False
        if re.search(r"\b(?:total|tot|line)\b", low)
        else None
    )
    without = re.sub(
        r"\b(?:each|ea|total|tot|per (?:piece|pc|board))\b|/ ?(?:pc|pce|piece|board|ea)\b", " ", low
    )
    measure = _measure(without)
    name = _name(without)
    for _, pattern in _MEASURES:
        without = pattern.sub(" ", without)
    rest = _name(without)
    if measure in _VOLUMES and rest in (
        "",
        "volume",
        "vol",
        "net",
        "nett",
        "gross",
        "cubic",
        "cube",
        "volume in",
    ):
        return Heading(Role.VOLUME, measure=measure, each=each)
    if measure in _LENGTHS_RUN and rest in ("", "length", "run"):
        return Heading(Role.LINEAL_METRES, _LENGTHS_RUN[measure])
    if measure is PriceUnit.PIECE and rest in ("", "no of", "number of", "# of", "qty", "quantity"):
        return Heading(Role.QUANTITY)
    if name in ("volume", "vol", "cube", "cubic"):
        return Heading(Role.VOLUME, each=each)
    if name == "length" and each is False:
        return Heading(Role.LINEAL_METRES, unit or LengthUnit.M)
    return None


def price_unit_said(text: str) -> PriceUnit | None:
    """What "per m3", "lm", "each", "/bf" says a price is for; None when it says nothing that is known."""
    low = plain(text)
    if words.PER_METRE.search(low) or low in ("m", "mtr", "metre", "metres", "meter", "mt"):
        return PriceUnit.LINEAL_METRE
    if words.PER_FOOT.search(low) or low in ("ft", "foot", "feet"):
        return PriceUnit.LINEAL_FOOT
    return _measure(low)


def _measure(low: str) -> PriceUnit | None:
    return next((unit for unit, pattern in _MEASURES if pattern.search(low)), None)


def _name(low: str) -> str:
    return " ".join(
        re.sub(r"[^a-z0-9#]+", " ", low.replace("%", " pct ").replace(".", "")).split()
    ).removesuffix(" pct")


def _order(low: str, role: Role) -> str:
    """The order a section's header states its figures in: "WT" from "w x t"."""
    if role not in (Role.SECTION, Role.SIZE):
        return ""
    firsts = [part.strip()[:1] for part in re.split(r"\bx\b|(?<=[lwt])x(?=[lwt])|[*/]", low) if part.strip()]
    order = "".join(firsts).upper()
    return order if order in ("WT", "TW", "LWT", "TWL") else ""


def find_header(sheet: Sheet, columns: Mapping[str, Role]) -> Header | None:
    """The row, or two rows, that best read as a header; None when none does.

    columns: header text -> role, what a person said of this sheet.
    """
    said = {plain(text): role for text, role in columns.items()}
    best: Header | None = None
    rows = sheet.rows[:HEADER_WITHIN_ROWS]
    for index, (_, cells) in enumerate(rows):
        texts = tuple(_as_text(cell) for cell in cells)
        if not any(texts):
            continue
        single = _header(index, index, texts, said)
        candidates = [single]
        if index + 1 < len(rows):
            below = tuple(_as_text(cell) for cell in rows[index + 1][1])
            both = _two_rows(index, texts, below, said)
            # Two rows must say more than either: a title over a header is no part of it.
            if both.score > max(single.score, _header(index + 1, index + 1, below, said).score):
                candidates.append(both)
        for candidate in candidates:
            if _is_header(candidate) and (best is None or candidate.score > best.score):
                best = candidate
    return best


def _is_header(header: Header) -> bool:
    roles = {heading.role for heading in header.headings if heading}
    return len(roles) >= 2 and bool(roles & SIZE_ROLES)


def _as_text(cell: Cell) -> str:
    return cell.strip() if isinstance(cell, str) and len(cell) <= MAX_HEADER_LENGTH else ""


def _header(first: int, last: int, texts: Sequence[str], said: Mapping[str, Role]) -> Header:
    headings = []
    for text in texts:
        heading = read_heading(text)
        if plain(text) in said and text:
            heading = replace(
                heading or Heading(Role.IGNORED, _unit_apart(plain(text))[0]),
                role=said[plain(text)],
                maybe_row_number=False,
            )
        headings.append(heading)
    return Header(first, last, tuple(texts), tuple(headings))


def _two_rows(first: int, above: Sequence[str], below: Sequence[str], said: Mapping[str, Role]) -> Header:
    """A header over two rows: groups above names, names above units, or names merged down over both."""
    wide = max(len(above), len(below))
    above, below = [*above, *[""] * (wide - len(above))], [*below, *[""] * (wide - len(below))]
    units = [
        bool(_ONLY_UNIT.fullmatch(plain(text))) or price_unit_said(text) is not None for text in below if text
    ]
    if units and all(units):
        texts = [f"{a} ({b})" if a and b and a != b else a or b for a, b in zip(above, below, strict=True)]
        return _header(first, first + 1, texts, said)
    group, headings, texts = "", [], []
    for a, b in zip(above, below, strict=True):
        group = a or group
        texts.append(f"{a} {b}".strip() if a and b and a != b else b or a)
        heading = read_heading(b) if b else read_heading(a)
        if b and heading and heading.unit is None and (found := _BRACKETED_UNIT.search(plain(group))):
            heading = replace(heading, unit=UNIT_WORDS[found[1]])
        both = read_heading(f"{group} {b}") if b else None
        headings.append(heading or both)
    named = _header(first, first + 1, texts, said)
    given = [
        own if plain(text) in said else found
        for own, found, text in zip(named.headings, headings, texts, strict=True)
    ]
    return Header(first, first + 1, tuple(texts), tuple(given))


def unit_in_preamble(sheet: Sheet, header: Header) -> LengthUnit | None:
    """The unit that a line above the header gives for all sizes, as "all sizes in mm"."""
    for _, cells in sheet.rows[: header.first]:
        for cell in cells:
            if isinstance(cell, str) and len(cell) < 300 and (found := _ALL_SIZES_IN.search(cell)):
                return UNIT_WORDS[found[1].lower()]
    return None


def chosen(sheets: Sequence[Sheet], columns: Mapping[str, Role], name: str) -> tuple[Sheet, Header]:
    """The sheet that looks most like a tally, and its header.

    Raises BadInput when none does, or two do equally and are not readings of the same text.
    """
    found = [(sheet, header) for sheet in sheets if (header := find_header(sheet, columns))]
    if not found:
        top = next((cells for sheet in sheets for _, cells in sheet.rows if any(cells)), ())
        said = ", ".join(repr(shown(cell)) for cell in top[:8] if cell != "")
        raise BadInput(
            f"{name} has no row of headers that is understood: expected at least a length and one of width,"
            f" thickness, section or pieces. Its first row is {said or 'empty'}."
        )
    best = max(header.score for _, header in found)
    leading = [(sheet, header) for sheet, header in found if header.score == best]
    if len(leading) > 1 and not leading[0][0].from_text:
        names = ", ".join(sheet.name for sheet, _ in leading)
        raise BadInput(f"{name} has several sheets that look like a tally: {names}; say which one is meant.")
    return leading[0]
