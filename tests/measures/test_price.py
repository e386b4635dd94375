from decimal import Decimal

import pint
import pytest

from stockyard.errors import BadInput
from stockyard.measures.price import PriceUnit, measure_of_piece, price_of_piece

SIZE = (Decimal(2400), Decimal(200), Decimal(50))
METRE = (Decimal(1000), Decimal(200), Decimal(50))
PINT = pint.UnitRegistry()


# VOL-10: 6500/m3 at 200 x 50: price per m3 x thickness x width (genesisny.net Timberspec), 423.776 bf/m3.
def test_a_price_per_cubic_metre_as_one_per_lineal_metre() -> None:
    assert price_of_piece(Decimal(6500), PriceUnit.M3, *METRE) == 65


def test_a_price_per_cubic_metre_as_one_per_board_foot() -> None:
    per_board_foot = price_of_piece(Decimal(6500), PriceUnit.M3, *METRE) / measure_of_piece(
        PriceUnit.BOARD_FOOT, *METRE
    )
    assert float(per_board_foot) == pytest.approx(15.34, abs=0.005)


# COST-02: 2400 x 200 x 50 at 6500/m3 is 156.00, 2400 x 150 x 38 at 5800/m3 is 79.344.
def test_the_price_of_a_piece_is_exact() -> None:
    assert price_of_piece(Decimal(6500), PriceUnit.M3, *SIZE) == 156
    assert (
        price_of_piece(Decimal(5800), PriceUnit.M3, Decimal(2400), Decimal(150), Decimal(38)) * 1000 == 79344
    )


# Source: pint 0.25, default registry.
@pytest.mark.parametrize(
    ("unit", "pint_unit", "what"),
    [
        (PriceUnit.LINEAL_METRE, "meter", "length"),
        (PriceUnit.LINEAL_FOOT, "foot", "length"),
        (PriceUnit.M2, "meter**2", "area"),
        (PriceUnit.M3, "meter**3", "volume"),
        (PriceUnit.BOARD_FOOT, "board_foot", "volume"),
        (PriceUnit.THOUSAND_BOARD_FEET, "kiloboard_foot", "volume"),
        (PriceUnit.HUNDRED_SUPER_FEET, "hectoboard_foot", "volume"),
        (PriceUnit.CUBIC_FOOT, "foot**3", "volume"),
    ],
)
def test_every_unit_agrees_with_pint(unit: PriceUnit, pint_unit: str, what: str) -> None:
    length, width, thickness = (PINT.Quantity(float(size), "mm") for size in SIZE)
    quantity = {"length": length, "area": length * width, "volume": length * width * thickness}[what]
    assert float(measure_of_piece(unit, *SIZE)) == pytest.approx(quantity.to(pint_unit).magnitude, rel=1e-12)


def test_a_piece_is_one_piece_and_a_lot_has_no_price_by_the_piece() -> None:
    assert measure_of_piece(PriceUnit.PIECE, *SIZE) == 1
    with pytest.raises(BadInput, match="shared"):
        measure_of_piece(PriceUnit.LOT, *SIZE)


def test_volume_prices_and_area_prices_feel_shrinkage_and_others_do_not() -> None:
    assert {unit for unit in PriceUnit if not unit.shrinks} == {
        PriceUnit.PIECE,
        PriceUnit.LINEAL_METRE,
        PriceUnit.LINEAL_FOOT,
        PriceUnit.LOT,
    }
