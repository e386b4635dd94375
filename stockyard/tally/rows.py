"""Rows told apart: lines to book, totals to check, headings, charges, and rows that say nothing."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto
from functools import lru_cache
from operator import itemgetter

from stockyard.measures.length import UNIT_WORDS
from stockyard.tally import header_words as words
from stockyard.tally.columns import SIZES, Columns
from stockyard.tally.header import Header
from stockyard.tally.sheet import Cell, shown
from stockyard.tally.tally import Role

_WORD = re.compile(r"[^\W\d_]{3,}")


class Kind(Enum):
    """What a row is."""

    LINE = auto()
    BLANK = auto()
    TOTAL = auto()
    HEADING = auto()
    CHARGE = auto()
    HEADER_AGAIN = auto()
    TEXT = auto()


@dataclass(frozen=True, slots=True)
class _Places:
    sized: tuple[int, ...]
    named: tuple[int, ...]
    figured: tuple[int, ...]
    header: tuple[str, ...]


def row_teller(columns: Columns, header: Header) -> Callable[[tuple[Cell, ...]], Kind]:
    """A function that tells what a row of this sheet is."""

    def _places(*roles: Role) -> tuple[int, ...]:
        return tuple(column.index for role in roles for column in columns.by_role.get(role, ()))

    at = _Places(
        _places(*SIZES),
        _places(Role.SPECIES, Role.MARK, Role.GRADE),
        _places(Role.QUANTITY, Role.LINEAL_METRES, Role.VOLUME, Role.AMOUNT, Role.PRICE),
        header.texts,
    )
    if not at.sized:
        # With no columns for sizes, the description or the lineal metres are what make a row a line.
        instead = _places(Role.DESCRIPTION) or _places(Role.LINEAL_METRES)
        at = _Places(instead, at.named, at.figured, at.header)

    sized_at = itemgetter(*at.sized) if len(at.sized) > 1 else None
    deepest = max(at.sized, default=0)

    def _tell(cells: tuple[Cell, ...]) -> Kind:
        if sized_at and len(cells) > deepest and _is_plain_line(sized_at(cells), cells[0]):
            return Kind.LINE
        filled = len(cells) - cells.count("")
        if filled == 0:
            return Kind.BLANK
        first = cells[0] if cells[0] != "" else next(cell for cell in cells if cell != "")
        if isinstance(first, str):
            if _is_total(first):
                return Kind.TOTAL
            if cells.count(first) == filled:
                return _alone(first, any(place < len(cells) and cells[place] != "" for place in at.sized))
        elif filled == 1:
            return _alone(first, any(place < len(cells) and cells[place] != "" for place in at.sized))
        sized = [cells[place] for place in at.sized if place < len(cells) and cells[place] != ""]
        if sized:
            if _is_header(cells, at.header):
                return Kind.HEADER_AGAIN
            if all(isinstance(cell, str) and (_is_total(cell) or _is_charge(cell)) for cell in sized):
                return (
                    Kind.TOTAL
                    if any(isinstance(cell, str) and _is_total(cell) for cell in sized)
                    else Kind.CHARGE
                )
            return Kind.LINE
        return _unsized(cells, at)

    return _tell


def _is_plain_line(sized: tuple[Cell, ...], first: Cell) -> bool:
    """Nearly every row: all sizes begin with a figure, and the row does not begin with a total."""
    for cell in sized:
        if isinstance(cell, str) and not cell[:1].isdigit():
            return False
    return not (isinstance(first, str) and (first == "" or _is_total(first)))


def _unsized(cells: tuple[Cell, ...], at: _Places) -> Kind:
    texts = [cell for cell in cells if isinstance(cell, str) and cell]
    if _is_header(cells, at.header):
        return Kind.HEADER_AGAIN
    if any(_is_total(text) for text in texts):
        return Kind.TOTAL
    if any(_is_charge(text) for text in texts):
        return Kind.CHARGE
    named = any(place < len(cells) and cells[place] != "" for place in at.named)
    if any(place < len(cells) and _has_figure(cells[place]) for place in at.figured):
        # Figures under a line, with no word beside them, are its sums.
        return Kind.LINE if named else Kind.TOTAL
    return Kind.LINE if named and not at.figured else Kind.TEXT


def _alone(cell: Cell, in_size_column: bool) -> Kind:
    """What a single cell in a row makes of it."""
    if not isinstance(cell, str):
        return Kind.TOTAL if not in_size_column else Kind.LINE
    if _is_charge(cell):
        return Kind.CHARGE
    if any(word not in UNIT_WORDS for word in _WORD.findall(cell.lower())):
        return Kind.HEADING
    return (
        Kind.TEXT if not any(sign.isdigit() for sign in cell) else Kind.LINE if in_size_column else Kind.TOTAL
    )


def _is_header(cells: tuple[Cell, ...], header: tuple[str, ...]) -> bool:
    """Is it the header once more, as at the top of a printed page?"""
    filled = 0
    for cell, text in zip(cells, header, strict=False):
        if cell == "":
            continue
        if cell != text:
            return False
        filled += 1
    return filled >= 2


def _has_figure(cell: Cell) -> bool:
    return not isinstance(cell, str) or any(sign.isdigit() for sign in cell)


@lru_cache(maxsize=4096)
def _is_total(text: str) -> bool:
    return len(text) < 80 and words.TOTAL.fullmatch(text) is not None


@lru_cache(maxsize=4096)
def _is_charge(text: str) -> bool:
    return len(text) < 80 and words.CHARGE.fullmatch(text) is not None


def row_text(cells: tuple[Cell, ...]) -> str:
    """A row's cells in one line, for showing."""
    return " | ".join(shown(cell) for cell in cells if cell != "")[:200]
