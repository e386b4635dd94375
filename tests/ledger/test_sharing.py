from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import Broken
from stockyard.ledger.sharing import CutPiece, OffcutPolicy, share_value

STAVES = CutPiece(15_000_000, Decimal("165.00"))
OFFCUT = CutPiece(4_000_000, Decimal("12.00"), by_product=True)


@pytest.mark.parametrize(
    ("policy", "staves", "offcut"),
    [
        (OffcutPolicy.VOLUME, "141.26", "37.67"),
        (OffcutPolicy.RELATIVE_VALUE, "166.80", "12.13"),
        (OffcutPolicy.BY_PRODUCT, "166.93", "12.00"),
    ],
)
def test_the_worked_board_of_178_93(policy: OffcutPolicy, staves: str, offcut: str) -> None:
    """Staves of 0.015 m3 that would sell for 165, an offcut of 0.004 m3 that would sell for 12.

    Source: worked example COST-06 (computed), on AASB 102 Inventories, paragraph 14.
    """
    shares = share_value(Decimal("178.93"), [STAVES, OFFCUT], policy, "AUD")

    assert shares == [Decimal(staves), Decimal(offcut)]


def test_by_products_never_stand_for_more_than_the_board_did() -> None:
    shares = share_value(Decimal("9.00"), [STAVES, OFFCUT, OFFCUT], OffcutPolicy.BY_PRODUCT, "AUD")

    assert shares == [Decimal(0), Decimal("4.50"), Decimal("4.50")]


def test_by_products_alone_carry_everything() -> None:
    shares = share_value(Decimal("30.00"), [OFFCUT, OFFCUT], OffcutPolicy.BY_PRODUCT, "AUD")

    assert shares == [Decimal("15.00"), Decimal("15.00")]


def test_pieces_that_would_sell_for_nothing_are_shared_by_volume() -> None:
    worthless = [CutPiece(3_000_000), CutPiece(1_000_000, by_product=True)]

    shares = share_value(Decimal("8.00"), worthless, OffcutPolicy.RELATIVE_VALUE, "AUD")

    assert shares == [Decimal("6.00"), Decimal("2.00")]


def test_value_needs_somewhere_to_go() -> None:
    with pytest.raises(Broken):
        share_value(Decimal("8.00"), [], OffcutPolicy.VOLUME, "AUD")


pieces = st.builds(
    CutPiece,
    volume_mm3=st.integers(1, 10**9),
    worth=st.decimals(0, 10_000, places=2),
    by_product=st.booleans(),
)


@given(
    value=st.decimals(0, 100_000, places=2),
    cut=st.lists(pieces, min_size=1, max_size=12),
    policy=st.sampled_from(OffcutPolicy),
)
def test_the_shares_add_up_to_the_cent_and_none_is_below_nothing(
    value: Decimal, cut: list[CutPiece], policy: OffcutPolicy
) -> None:
    shares = share_value(value, cut, policy, "AUD")

    assert sum(shares) == value
    assert all(share >= 0 and share == share.quantize(Decimal("0.01")) for share in shares)


@given(value=st.integers(0, 10**7), cut=st.lists(pieces, min_size=1, max_size=6))
def test_a_currency_without_cents_is_shared_in_whole_units(value: int, cut: list[CutPiece]) -> None:
    shares = share_value(Decimal(value), cut, OffcutPolicy.VOLUME, "JPY")

    assert sum(shares) == value
    assert all(share == int(share) for share in shares)
