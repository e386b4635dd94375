"""Does a row's own volume and money follow from its sizes and price?"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from stockyard.measures.length import Dimension
from stockyard.measures.money import smallest_unit
from stockyard.measures.price import MM3_EACH, PriceUnit, measure_of_piece
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
        """How much of `unit` one piece counts for, exact."""
        measure = measure_of_piece(unit, self.length_mm, self.width_mm, self.thickness_mm)
        return gross_of_net(measure, self.shrinkage_pct) if self.shrinkage_pct and unit.shrinks else measure

    def near_measure(self, unit: PriceUnit) -> float:
        """The same as a float, for comparing; exact fractions would take most of the time of a reading."""
        if unit in MM3_EACH:
            mm3 = float(self.length_mm) * float(self.width_mm) * float(self.thickness_mm)
            measure = mm3 / float(MM3_EACH[unit])
            return measure / (1 - float(self.shrinkage_pct) / 100) if self.shrinkage_pct else measure
        return float(self.measure(unit))


def volume_fits(printed: Printed, unit: PriceUnit, each: bool | None, sized: Sized) -> bool:
    """Does a printed volume follow from the sizes, but for the rounding of the print?

    unit: of the printed figure. each: whether it is of one piece; None where the header does not say, and
    either will do.
    """
    one, half_place, given = sized.near_measure(unit), 0.5 * 10.0**-printed.decimals, float(printed.value)
    return any(
        abs(given - one * pieces) <= one * pieces * TOLERANCE + half_place * pieces
        for pieces in _pieces(each, sized)
    )


def surface_volume(printed: Printed, unit: PriceUnit, each: bool | None, sized: Sized) -> Fraction | None:
    """The row's volume in `unit` where the print is the hardwood trade's surface measure; else None.

    That measure goes by whole square feet, so it may be far from the sizes, and it is what is charged.
    """
    if unit not in _IN_BOARD_FEET:
        return None
    gross_width = Decimal(str(float(gross_of_net(sized.width_mm, sized.shrinkage_pct))))
    half_place, given = 0.5 * 10.0**-printed.decimals, float(printed.value)
    for half in HalfFoot:
        for square_feet in surface_measures([(sized.length_mm, gross_width)] * 2, half):
            one = board_feet_of_surface(square_feet, sized.thickness_mm) / _IN_BOARD_FEET[unit]
            for pieces in _pieces(each, sized):
                if abs(given - float(one) * pieces) <= half_place * pieces + 1e-9:
                    return one * sized.quantity
    return None


def _pieces(each: bool | None, sized: Sized) -> tuple[int, ...]:
    """How many pieces a printed figure may be of."""
    return (1,) if each else (sized.quantity,) if each is False else (sized.quantity, 1)


def run_meant(printed_mm: Decimal, sized: Sized) -> bool:
    """Do the printed lineal metres follow from the lengths and the count?"""
    wanted = float(sized.length_mm) * sized.quantity
    return abs(float(printed_mm) - wanted) <= wanted * TOLERANCE + 50


def amount_fits(
    amount: Decimal, price: Decimal, unit: PriceUnit, measures: tuple[float, ...], pieces: int, currency: str
) -> bool:
    """Does the row's money follow from its price and any of the measures it may have been counted by?

    measures: in `unit`, of the row in all.
    """
    each_cent = float(smallest_unit(currency)) * pieces
    hidden = HIDDEN_DECIMALS_M3 * pieces if unit is PriceUnit.M3 else 0.0
    given, rate = float(amount), float(price)
    return any(
        abs(given - rate * measure) <= rate * (measure * TOLERANCE + hidden) + each_cent
        for measure in measures
    )


def thicker_than_wide(sized: Sized) -> bool:
    """Are width and thickness perhaps in each other's column?"""
    return sized.thickness_mm > sized.width_mm and sized.thickness_mm <= Dimension.THICKNESS.max_mm
