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
        return self in MM3_EACH

    @property
    def shrinks(self) -> bool:
        """Is less of it left after drying, so that gross and net measure differ?"""
        return self in MM3_EACH or self is PriceUnit.M2


MM3_EACH = {
    PriceUnit.M3: M3_MM3,
    PriceUnit.BOARD_FOOT: BOARD_FOOT_MM3,
    PriceUnit.THOUSAND_BOARD_FEET: 1000 * BOARD_FOOT_MM3,
    PriceUnit.HUNDRED_SUPER_FEET: 100 * BOARD_FOOT_MM3,
    PriceUnit.CUBIC_FOOT: CUBIC_FOOT_MM3,
}

_MM_EACH = {
    PriceUnit.PIECE: Fraction(1),
    PriceUnit.LINEAL_METRE: Fraction(1000),
    PriceUnit.LINEAL_FOOT: Fraction(FOOT_MM),
    PriceUnit.M2: Fraction(1_000_000),
    **{unit: Fraction(mm3) for unit, mm3 in MM3_EACH.items()},
}


def measure_of_piece(
    unit: PriceUnit, length_mm: Decimal, width_mm: Decimal, thickness_mm: Decimal
) -> Fraction:
    """How much of `unit` a piece is, exact: 1 piece, 2.4 lineal metres, 0.024 m3.

    Raises BadInput for a lot, whose price is shared over its pieces instead.
    """
    return price_of_piece(Decimal(1), unit, length_mm, width_mm, thickness_mm)


def price_of_piece(
    price: Decimal, unit: PriceUnit, length_mm: Decimal, width_mm: Decimal, thickness_mm: Decimal
) -> Fraction:
    """What a piece costs at `price` per `unit`, exact and not yet rounded to cents.

    Raises BadInput for a lot.
    """
    # One exact product, one division: ten thousand pieces are priced in a fraction of a second.
    if unit in MM3_EACH:
        size = volume_mm3(length_mm, width_mm, thickness_mm)
    elif unit in (PriceUnit.LINEAL_METRE, PriceUnit.LINEAL_FOOT):
        size = length_mm
    elif unit is PriceUnit.M2:
        size = EXACT.multiply(length_mm, width_mm)
    elif unit is PriceUnit.PIECE:
        size = Decimal(1)
    else:
        raise BadInput("A price for a lot is shared over its pieces; no piece has a price of its own.")
    return Fraction(EXACT.multiply(price, size)) / _MM_EACH[unit]
