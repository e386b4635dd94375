"""Whole millimetres: what is needed is rounded up, what is there is rounded down, so that none falls short.

Thickness, spring, moisture and money are not rounded at all.
"""

from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from stockyard.timber import Allowances, Board, Panel, Window

MILLIONTH = Fraction(1, 1_000_000)


def exact(value: float | Decimal) -> Fraction:
    """The number as it is written in decimals: 0.1 is one tenth, not the nearest binary fraction."""
    return Fraction(str(value))


def need(value_mm: float) -> int:
    """A size that is asked for. [whole mm, up]"""
    return ceil(exact(value_mm))


def supply(value_mm: float) -> int:
    """A size that is there. [whole mm, down]"""
    return floor(exact(value_mm))


def board_window(board: Board) -> Window:
    """The whole board in its own frame."""
    return Window(0, 0, supply(board.length_mm), supply(board.width_mm))


def rough_length(panel: Panel, allowances: Allowances) -> int:
    """How long every stave of a panel is cut. [mm]"""
    return need(panel.length_mm) + 2 * need(allowances.end_trim_mm)


def reaches_offcut(length_mm: int, width_mm: int, allowances: Allowances) -> bool:
    """Is a remnant of this size worth racking again?"""
    return length_mm >= need(allowances.offcut_length_mm) and width_mm >= need(allowances.offcut_width_mm)


def same_money(stated: Decimal, true: Fraction) -> bool:
    """Do two amounts agree to half a millionth, the precision a plan states money to?

    A hair more is let pass, since a colour difference is a binary fraction to begin with.
    """
    return abs(exact(stated) - true) <= MILLIONTH / 2 + MILLIONTH / 1000
