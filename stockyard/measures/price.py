"""What timber is sold by, and the exact price of a piece that follows."""

from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from stockyard.errors import BadInput
from stockyard.measures.length import EXACT, FOOT_MM
from stockyard.measures.volume import BOARD_FOOT_MM3, CUBIC_FOOT_MM3, M3_MM3, volume_mm3


class PriceUnit(StrEnum):
    """What one price buys."""

    PIECE = "piece"
    LINEAL_METRE = "lineal metre"
    LINEAL_FOOT = "lineal foot"
    M2 = "m2"
    M3 = "m3"
    BOARD_FOOT = "board foot"
    THOUSAND_BOARD_FEET = "1000 board feet"
    HUNDRED_SUPER_FEET = "100 super feet"
    CUBIC_FOOT = "cubic foot"
    LOT = "lot"

    @property
    def is_of_volume(self) -> bool:
        """Does the price follow the piece's volume?"""
        return self in _MM3

    @property
    def shrinks(self) -> bool:
        """Is less of it left after drying, so that gross and net measure differ?"""
        return self in _MM3 or self is PriceUnit.M2


_MM3 = {
    PriceUnit.M3: M3_MM3,
    PriceUnit.BOARD_FOOT: BOARD_FOOT_MM3,
    PriceUnit.THOUSAND_BOARD_FEET: 1000 * BOARD_FOOT_MM3,
    PriceUnit.HUNDRED_SUPER_FEET: 100 * BOARD_FOOT_MM3,
    PriceUnit.CUBIC_FOOT: CUBIC_FOOT_MM3,
}


def measure_of_piece(
    unit: PriceUnit, length_mm: Decimal, width_mm: Decimal, thickness_mm: Decimal
) -> Fraction:
    """How much of `unit` a piece is, exact: 1 piece, 2.4 lineal metres, 0.024 m3.

    Raises BadInput for a lot, whose price is shared over its pieces instead.
    """
    if unit in _MM3:
        return Fraction(volume_mm3(length_mm, width_mm, thickness_mm)) / Fraction(_MM3[unit])
    if unit is PriceUnit.PIECE:
        return Fraction(1)
    if unit is PriceUnit.LINEAL_METRE:
        return Fraction(length_mm) / 1000
    if unit is PriceUnit.LINEAL_FOOT:
        return Fraction(length_mm) / Fraction(FOOT_MM)
    if unit is PriceUnit.M2:
        return Fraction(EXACT.multiply(length_mm, width_mm)) / 1_000_000
    raise BadInput("A price for a lot is shared over its pieces; no piece has a price of its own.")


def price_of_piece(
    price: Decimal, unit: PriceUnit, length_mm: Decimal, width_mm: Decimal, thickness_mm: Decimal
) -> Fraction:
    """What a piece costs at `price` per `unit`, exact and not yet rounded to cents.

    Raises BadInput for a lot.
    """
    return Fraction(price) * measure_of_piece(unit, length_mm, width_mm, thickness_mm)
