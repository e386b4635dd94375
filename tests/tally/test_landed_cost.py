from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.price import PriceUnit, price_of_piece
from stockyard.measures.volume import volume_mm3
from stockyard.tally import Charge, CostedLine, LandedCost, ShareBy, Tax, landed_cost

WIDE = (Decimal(2400), Decimal(200), Decimal(50))
NARROW = (Decimal(2400), Decimal(150), Decimal(38))


def the_lot(**changes: Any) -> LandedCost:
    """Five boards 2400 x 200 x 50 at 6500/m3, five 2400 x 150 x 38 at 5800/m3, freight 180, before tax."""
    lines = [
        CostedLine(5, volume_mm3(*WIDE), 5 * price_of_piece(Decimal(6500), PriceUnit.M3, *WIDE), Decimal(24)),
        CostedLine(
            5, volume_mm3(*NARROW), 5 * price_of_piece(Decimal(5800), PriceUnit.M3, *NARROW), Decimal(12)
        ),
    ]
    values: dict[str, Any] = {"charges": [Charge("freight", Decimal(180))], "tax": Tax()}
    return landed_cost(lines, "AUD", **(values | changes))


def every_cost(cost: LandedCost) -> list[Decimal]:
    return [piece.landed for line in cost.lines for piece in line]


# COST-01 to COST-05: the worked lot, computed by hand from the stated prices (AASB 102 paragraphs 10 and 11).
def test_the_worked_lots_volume_and_timber() -> None:
    assert (volume_mm3(*WIDE) + volume_mm3(*NARROW)) * 5 == Decimal("0.1884") * 10**9
    cost = the_lot()
    assert cost.purchase == Decimal("1176.72")
    assert {piece.purchase for piece in cost.lines[0]} == {Decimal("156.00")}
    assert all(abs(piece.purchase - Decimal("79.344")) <= Decimal("0.006") for piece in cost.lines[1])


def test_the_worked_lots_freight_by_volume_is_exact_in_cents() -> None:
    wide, narrow = the_lot().lines
    assert [piece.charges for piece in wide] == [(Decimal("22.93"),)] * 5
    assert [piece.charges for piece in narrow] == [(Decimal("13.07"),)] * 5


def test_the_worked_lots_freight_by_value() -> None:
    wide, narrow = the_lot(charges=[Charge("freight", Decimal(180), ShareBy.VALUE)]).lines
    # COST-04 gives 23.863 and 12.137 each before rounding: each line of five is that, to the cent.
    assert sum(piece.charges[0] for piece in wide) == pytest.approx(Decimal("119.315"), abs=Decimal("0.005"))
    assert sum(piece.charges[0] for piece in narrow) == pytest.approx(Decimal("60.685"), abs=Decimal("0.005"))


def test_the_worked_lot_landed_with_recoverable_tax_kept_out() -> None:
    cost = the_lot()
    assert {piece.landed for piece in cost.lines[0]} == {Decimal("178.93")}
    assert all(abs(piece.landed - Decimal("92.414")) <= Decimal("0.006") for piece in cost.lines[1])
    assert cost.total == sum(every_cost(cost)) == Decimal("1356.72")
    assert cost.tax == cost.recoverable == Decimal("135.67")


def test_by_mass_the_heavy_line_carries_two_thirds_of_the_freight() -> None:
    wide, narrow = the_lot(charges=[Charge("freight", Decimal(180), ShareBy.MASS)]).lines
    assert {piece.charges[0] for piece in wide} == {Decimal("24.00")}
    assert {piece.charges[0] for piece in narrow} == {Decimal("12.00")}


def test_tax_that_is_not_recovered_is_part_of_cost() -> None:
    cost = the_lot(tax=Tax(recoverable=False))
    assert cost.total == Decimal("1356.72") + Decimal("135.67")
    assert cost.recoverable == 0
    assert sum(every_cost(cost)) == cost.total


def test_prices_with_tax_in_them_are_booked_without_it() -> None:
    line = CostedLine(3, Decimal(10**7), Decimal("110.00"))
    cost = landed_cost([line], "AUD", tax=Tax(), tax_included=True)
    assert (cost.total, cost.tax) == (Decimal("100.00"), Decimal("10.00"))
    assert [piece.landed for piece in cost.lines[0]] == [Decimal("33.34"), Decimal("33.33"), Decimal("33.33")]


def test_a_charge_without_tax_stays_as_it_is() -> None:
    cost = the_lot(charges=[Charge("levy", Decimal("12.00"), taxable=False)], tax=Tax(recoverable=False))
    assert cost.charges == (Decimal("12.00"),)


def test_without_any_tax_nothing_is_taken_out() -> None:
    cost = the_lot(tax=None)
    assert (cost.total, cost.tax, cost.recoverable) == (Decimal("1356.72"), 0, 0)


def test_a_docket_total_off_by_rounding_is_what_the_pieces_add_up_to() -> None:
    cost = the_lot(docket_total=Decimal("1356.73"), docket_total_includes_tax=False)
    assert cost.total == sum(every_cost(cost)) == Decimal("1356.73")


def test_a_docket_total_with_tax_is_checked_against_lines_and_charges() -> None:
    assert the_lot(docket_total=Decimal("1492.39")).total == Decimal("1356.72")


def test_a_docket_total_that_does_not_add_up_is_refused() -> None:
    with pytest.raises(BadInput, match="does not add up") as raised:
        the_lot(docket_total=Decimal("1502.39"))
    assert "1492.39" in str(raised.value)


def test_a_carriers_own_bill_is_no_part_of_the_docket_total() -> None:
    freight = Charge("freight", Decimal(180), on_docket=False)
    cost = the_lot(charges=[freight], docket_total=Decimal("1176.72"), docket_total_includes_tax=False)
    assert cost.total == Decimal("1356.72")


def test_a_lot_is_shared_by_volume() -> None:
    lines = [CostedLine(1, Decimal(3)), CostedLine(2, Decimal(1))]
    cost = landed_cost(lines, "AUD", lot_total=Decimal("100.00"))
    assert every_cost(cost) == [Decimal("60.00"), Decimal("20.00"), Decimal("20.00")]


def test_timber_for_nothing_still_carries_its_freight() -> None:
    lines = [CostedLine(1, Decimal(30), Decimal(0)), CostedLine(1, Decimal(10), Decimal(0))]
    cost = landed_cost(lines, "AUD", charges=[Charge("freight", Decimal(10), ShareBy.VALUE)])
    assert every_cost(cost) == [Decimal("7.50"), Decimal("2.50")]


@pytest.mark.parametrize(
    ("lines", "changes"),
    [
        ([], {}),
        ([CostedLine(0, Decimal(1), Decimal(1))], {}),
        ([CostedLine(1, Decimal(0), Decimal(1))], {}),
        ([CostedLine(1, Decimal("NaN"), Decimal(1))], {}),
        ([CostedLine(1, Decimal(1))], {}),
        ([CostedLine(1, Decimal(1), Decimal(-1))], {}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"lot_total": Decimal(5)}),
        ([CostedLine(1, Decimal(1))], {"lot_total": Decimal(-5)}),
        ([CostedLine(1, Decimal(1))], {"lot_total": Decimal("5.001")}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"charges": [Charge("freight", Decimal(-1))]}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"charges": [Charge("freight", Decimal("NaN"))]}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"charges": [Charge("freight", Decimal(1), ShareBy.MASS)]}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"tax": Tax(Decimal(-1))}),
        ([CostedLine(1, Decimal(1), Decimal(1))], {"tax": Tax(Decimal("NaN"))}),
    ],
)
def test_money_that_cannot_be_shared_is_refused(lines: list[CostedLine], changes: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        landed_cost(lines, "AUD", **changes)


COSTED = st.builds(
    CostedLine,
    quantity=st.integers(1, 9),
    piece_mm3=st.decimals(min_value=1, max_value=10**8, places=3),
    purchase=st.fractions(min_value=0, max_value=10**5, max_denominator=10**6),
    piece_kg=st.decimals(min_value=1, max_value=100, places=2),
)
CHARGES = st.builds(
    Charge,
    name=st.just("freight"),
    amount=st.decimals(min_value=0, max_value=10**4, places=2),
    share_by=st.sampled_from(ShareBy),
    tax_included=st.booleans(),
    taxable=st.booleans(),
    on_docket=st.booleans(),
)


@given(
    st.lists(COSTED, min_size=1, max_size=8),
    st.lists(CHARGES, max_size=3),
    st.sampled_from([None, Tax(), Tax(recoverable=False), Tax(Decimal("12.5"))]),
    st.booleans(),
)
def test_every_part_always_adds_up_and_no_piece_strays_a_cent_per_rounding(
    lines: list[CostedLine], charges: list[Charge], tax: Tax | None, tax_included: bool
) -> None:
    cost = landed_cost(lines, "AUD", charges=charges, tax=tax, tax_included=tax_included)
    pieces = [piece for line in cost.lines for piece in line]
    assert len(pieces) == sum(line.quantity for line in lines)
    assert sum(piece.purchase for piece in pieces) == cost.purchase
    for index, total in enumerate(cost.charges):
        assert sum(piece.charges[index] for piece in pieces) == total
    assert sum(piece.landed for piece in pieces) == cost.total
    assert all(piece.landed >= 0 for piece in pieces)
    for line, costs in zip(lines, cost.lines, strict=True):
        landed = [piece.purchase for piece in costs]
        assert max(landed) - min(landed) <= Decimal("0.01"), "pieces alike cost alike"
        if not tax_included and (tax is None or tax.recoverable):
            each = Fraction(line.purchase or 0) / line.quantity
            assert abs(Fraction(landed[0]) - each) <= Fraction(3, 100)
