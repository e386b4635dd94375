from decimal import Decimal
from fractions import Fraction

import pint
import pytest

from stockyard.measures.length import parse_length
from stockyard.measures.volume import (
    HalfFoot,
    board_feet,
    board_feet_of_surface,
    cubic_feet,
    cubic_metres,
    gross_of_net,
    lineal_metres,
    net_of_gross,
    show_board_feet,
    show_cubic_metres,
    surface_measure_exact,
    surface_measures,
    volume_mm3,
)

PINT = pint.UnitRegistry()
M3 = Decimal(10**9)
BOARD_FEET = Fraction("2359737.216")


def mm(text: str) -> Decimal:
    return parse_length(text)


# VOL-01: length x width x thickness; 423.776 board feet to the m3 (tradelink-group.com).
def test_a_common_board_in_cubic_metres_and_board_feet() -> None:
    solid = volume_mm3(Decimal(2400), Decimal(200), Decimal(50))
    assert cubic_metres(solid) == Decimal("0.024")
    assert float(board_feet(solid)) == pytest.approx(10.171, abs=0.001)


# VOL-02: ncwoodworker.net thread 12283, which prints 9.3 and 5.
def test_an_eight_quarter_board_in_board_feet_and_surface_measure() -> None:
    length, width, thickness = mm("8 ft"), mm("7 in"), mm("2 in")
    assert float(board_feet(volume_mm3(length, width, thickness))) == pytest.approx(9.33, abs=0.01)
    assert float(surface_measure_exact(length, width)) == pytest.approx(4.67, abs=0.01)
    assert surface_measures([(length, width)]) == [5]


# VOL-03: goodwoodcorp.com/HardwoodGrading.asp; the length counts as 10 ft.
def test_the_fraction_of_a_foot_is_dropped_from_the_length() -> None:
    length, width = mm("10 ft 9 in"), mm("6 7/16 in")
    assert float(surface_measure_exact(length, width)) == pytest.approx(5.36, abs=0.01)
    assert surface_measures([(length, width)]) == [5]


# VOL-04: portablesawmill.info.
def test_a_six_inch_board_of_eight_feet_measures_four() -> None:
    assert surface_measures([(mm("8 ft"), mm("6 in"))]) == [4]


# VOL-05: tradelink-group.com.
def test_a_cubic_metre_in_board_feet_and_cubic_feet() -> None:
    assert float(board_feet(M3)) == pytest.approx(423.776, abs=0.001)
    assert float(cubic_feet(M3)) == pytest.approx(35.3147, abs=0.001)


# VOL-11: computed from the cubic foot; a merchant prints 0.36 for this board, which follows from nothing.
def test_a_ten_foot_board_of_an_inch_in_cubic_feet() -> None:
    solid = volume_mm3(Decimal(3048), Decimal(127), Decimal(25))
    assert float(cubic_feet(solid)) == pytest.approx(0.3418, abs=1e-4)


# VOL-06 and VOL-07: tradelink-group.com (the latter is the ton of 50 cubic feet, printed 1.416).
@pytest.mark.parametrize(("feet", "metres"), [(1000, 2.3597), (600, 1.4158)])
def test_board_feet_in_cubic_metres(feet: int, metres: float) -> None:
    solid = Decimal(feet) * Decimal("2359737.216")
    assert float(cubic_metres(solid)) == pytest.approx(metres, abs=1e-4)
    assert board_feet(solid) == feet


# VOL-08 and VOL-09: woodweb.com, "Net measure vs gross measure": 7 % lost, 1800 / 0.93.
def test_gross_footage_comes_to_less_net_and_its_price_to_more() -> None:
    assert float(net_of_gross(Decimal(1000), Decimal(7))) == pytest.approx(930, abs=0.01)
    assert float(gross_of_net(Decimal(1800), Decimal(7))) == pytest.approx(1935.48, abs=0.005)
    assert gross_of_net(net_of_gross(Decimal(1000), Decimal(7)), Decimal(7)) == 1000


# Source: pint 0.25, default registry (board_foot, cubic_foot).
@pytest.mark.parametrize("cubic_mm", [1, 24_000_000, 10**9])
def test_volumes_agree_with_pint(cubic_mm: int) -> None:
    quantity = PINT.Quantity(cubic_mm, "mm**3")
    assert float(board_feet(Decimal(cubic_mm))) == pytest.approx(
        quantity.to("board_foot").magnitude, rel=1e-12
    )
    assert float(cubic_feet(Decimal(cubic_mm))) == pytest.approx(
        quantity.to("cubic_foot").magnitude, rel=1e-12
    )
    assert float(cubic_metres(Decimal(cubic_mm))) == pytest.approx(quantity.to("m**3").magnitude, rel=1e-12)


def test_a_half_of_surface_measure_goes_up_or_alternates_as_the_setting_says() -> None:
    halves = [(mm("9 ft"), mm("6 in"))] * 3  # 4.5 each
    assert surface_measures(halves) == [5, 5, 5]
    assert surface_measures(halves, HalfFoot.ALTERNATE) == [5, 4, 5]


def test_thin_stock_counts_as_an_inch_by_default() -> None:
    assert board_feet_of_surface(5, mm("3/4 in")) == 5
    assert board_feet_of_surface(5, mm("3/4 in"), thin_counts_as_an_inch=False) == Fraction(15, 4)
    assert board_feet_of_surface(5, mm("2 in")) == 10


def test_lineal_metres_are_the_lengths_end_to_end() -> None:
    assert lineal_metres([Decimal(2400)] * 5 + [Decimal("3600.5")]) == Decimal("15.6005")


def test_volumes_are_shown_with_their_unit() -> None:
    solid = volume_mm3(Decimal(2400), Decimal(200), Decimal(50))
    assert show_cubic_metres(solid) == "0.0240 m3"
    assert show_board_feet(solid) == "10.17 bf"
