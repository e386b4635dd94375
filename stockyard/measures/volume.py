"""Volumes and the trade's other measures of timber: m3, board feet, super feet, cubic feet, lineal metres."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from stockyard.measures.length import EXACT, FOOT_MM, INCH_MM

BOARD_FOOT_MM3 = Decimal("2359737.216")
"""144 cubic inches, exact from 1 in = 25.4 mm. The super(ficial) foot is the same size."""

CUBIC_FOOT_MM3 = Decimal("28316846.592")
"""12 board feet."""

M3_MM3 = Decimal(1_000_000_000)


def volume_mm3(length_mm: Decimal, width_mm: Decimal, thickness_mm: Decimal) -> Decimal:
    """Solid volume of a board. [mm3, exact]"""
    return EXACT.multiply(EXACT.multiply(length_mm, width_mm), thickness_mm)


def cubic_metres(mm3: Decimal) -> Decimal:
    """A volume in m3, exact."""
    return mm3.scaleb(-9, EXACT)


def board_feet(mm3: Decimal) -> Fraction:
    """A volume in board feet (or super feet), exact."""
    return Fraction(mm3) / Fraction(BOARD_FOOT_MM3)


def cubic_feet(mm3: Decimal) -> Fraction:
    """A volume in cubic feet, exact."""
    return Fraction(mm3) / Fraction(CUBIC_FOOT_MM3)


def lineal_metres(lengths_mm: Iterable[Decimal]) -> Decimal:
    """The lengths laid end to end. [m, exact]"""
    return sum(lengths_mm, Decimal(0)).scaleb(-3, EXACT)


class HalfFoot(StrEnum):
    """What becomes of a surface measure that ends in exactly a half."""

    UP = "up"
    ALTERNATE = "alternate"  # up, then down, then up, down the tally


def surface_measure_exact(length_mm: Decimal, width_mm: Decimal) -> Fraction:
    """Surface measure before it is rounded. [square feet]

    Width in inches with its fractions, times the standard length (whole feet, the fraction dropped), by 12.
    Source: goodwoodcorp.com/HardwoodGrading.asp.
    """
    return Fraction(width_mm) / Fraction(INCH_MM) * int(length_mm // FOOT_MM) / 12


def surface_measures(boards: Sequence[tuple[Decimal, Decimal]], half: HalfFoot = HalfFoot.UP) -> list[int]:
    """Surface measure of each board of a tally, in whole square feet.

    boards: (length_mm, width_mm) in the order they are measured, which matters when halves alternate.
    half: published practice differs; going up is the default here.
    """
    measures, halves = [], 0
    for length_mm, width_mm in boards:
        square_feet = surface_measure_exact(length_mm, width_mm)
        whole, rest = divmod(square_feet, 1)
        if rest == Fraction(1, 2):
            halves += 1
            up = half is HalfFoot.UP or halves % 2 == 1
        else:
            up = rest > Fraction(1, 2)
        measures.append(int(whole) + up)
    return measures


def board_feet_of_surface(
    surface_measure: int, thickness_mm: Decimal, *, thin_counts_as_an_inch: bool = True
) -> Fraction:
    """Board feet of a hardwood tally: surface measure times thickness in inches.

    thin_counts_as_an_inch: stock under an inch is sold as an inch (common practice, no published source).
    """
    inches = Fraction(thickness_mm) / Fraction(INCH_MM)
    return surface_measure * (max(inches, Fraction(1)) if thin_counts_as_an_inch else inches)


def net_of_gross(gross: Decimal | Fraction, shrinkage_pct: Decimal) -> Fraction:
    """What a measure taken green comes to once dry. [in the unit of `gross`]

    shrinkage_pct: width lost in drying, 0 <= it < 100; 7 is the usual figure of the hardwood trade.
    Source: woodweb.com, "Net measure vs gross measure".
    """
    return Fraction(gross) * (1 - Fraction(shrinkage_pct) / 100)


def gross_of_net(net: Decimal | Fraction, shrinkage_pct: Decimal) -> Fraction:
    """What a dry measure was when it was green; the inverse of `net_of_gross`.

    Of a price per gross measure it gives the price per net measure, since less timber carries it.
    """
    return Fraction(net) / (1 - Fraction(shrinkage_pct) / 100)


def show_cubic_metres(mm3: Decimal) -> str:
    """A volume as it is written on a docket: "0.0240 m3"."""
    return f"{cubic_metres(mm3):.4f} m3"


def show_board_feet(mm3: Decimal) -> str:
    """A volume as it is written on a docket: "10.17 bf"."""
    return f"{float(board_feet(mm3)):.2f} bf"
