"""Does a row's own volume and money follow from its sizes and price?"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from stockyard.measures.length import Dimension
from stockyard.measures.money import smallest_unit
from stockyard.measures.price import PriceUnit, measure_of_piece
from stockyard.measures.volume import HalfFoot, board_feet_of_surface, gross_of_net, surface_measures
from stockyard.tally.cells import Printed

TOLERANCE = 0.005
"""Share by which a printed figure may be off: suppliers round sizes before they multiply."""

HIDDEN_DECIMALS_M3 = 0.0005
"""Half a litre a piece: suppliers price by volumes rounded to a litre without printing them. [m3]"""

_IN_BOARD_FEET = {
    PriceUnit.BOARD_FOOT: 1,
    PriceUnit.HUNDRED_SUPER_FEET: 100,
    PriceUnit.THOUSAND_BOARD_FEET: 1000,
}


@dataclass(frozen=True, slots=True)
class Sized:
    """A row's pieces: how many, and one's sizes as the price counts them. [mm]

    shrinkage_pct: of green measure, where volume and area are counted so; else 0.
    """

    quantity: int
    length_mm: Decimal
    width_mm: Decimal
    thickness_mm: Decimal
    shrinkage_pct: Decimal = Decimal(0)

    def measure(self, unit: PriceUnit) -> Fraction:
        """How much of `unit` one piece counts for."""
        measure = measure_of_piece(unit, self.length_mm, self.width_mm, self.thickness_mm)
        return gross_of_net(measure, self.shrinkage_pct) if self.shrinkage_pct and unit.shrinks else measure


def volume_meant(printed: Printed, unit: PriceUnit, each: bool | None, sized: Sized) -> Fraction | None:
    """What the row's volume in all is, by what is printed; None when that does not follow from its sizes.

    unit: of the printed figure. each: whether it is of one piece; None where the header does not say, and
    either will do. The answer is by the sizes where print and sizes agree to the rounding of the print, and
    by the print where it is the hardwood trade's surface measure, which is what is charged.
    """
    by_size = sized.measure(unit)
    half_place = 0.5 * 10.0**-printed.decimals
    given = float(printed.value)
    for pieces in (1,) if each else (sized.quantity,) if each is False else (sized.quantity, 1):
        wanted = float(by_size) * pieces
        if abs(given - wanted) <= wanted * TOLERANCE + half_place * pieces:
            return by_size * sized.quantity
    if unit in _IN_BOARD_FEET:
        gross_width = Decimal(str(float(gross_of_net(sized.width_mm, sized.shrinkage_pct))))
        for half in HalfFoot:
            squares = surface_measures([(sized.length_mm, gross_width)] * 2, half)
            for square in squares:
                one = board_feet_of_surface(square, sized.thickness_mm) / _IN_BOARD_FEET[unit]
                for pieces in (1,) if each else (sized.quantity,) if each is False else (sized.quantity, 1):
                    if abs(given - float(one) * pieces) <= half_place * pieces + 1e-9:
                        return one * sized.quantity
    return None


def run_meant(printed_mm: Decimal, sized: Sized) -> bool:
    """Do the printed lineal metres follow from the lengths and the count?"""
    wanted = float(sized.length_mm) * sized.quantity
    return abs(float(printed_mm) - wanted) <= wanted * TOLERANCE + 50


def amount_fits(
    amount: Decimal, price: Decimal, unit: PriceUnit, measures: list[Fraction], pieces: int, currency: str
) -> bool:
    """Does the row's money follow from its price and any of the measures it may have been counted by?

    measures: in `unit`, of the row in all.
    """
    each_cent = float(smallest_unit(currency)) * pieces
    hidden = HIDDEN_DECIMALS_M3 * pieces if unit is PriceUnit.M3 else 0.0
    return any(
        abs(float(amount) - float(price) * float(measure))
        <= float(price) * (float(measure) * TOLERANCE + hidden) + each_cent
        for measure in measures
    )


def thicker_than_wide(sized: Sized) -> bool:
    """Are width and thickness perhaps in each other's column?"""
    return sized.thickness_mm > sized.width_mm and sized.thickness_mm <= Dimension.THICKNESS.max_mm
