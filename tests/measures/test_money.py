from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.money import apportion, exact, minor_digits, rounded, show


def test_leftover_cents_go_to_the_largest_remainders() -> None:
    assert apportion(Decimal("1.00"), [1, 1, 1], "AUD") == [Decimal("0.34"), Decimal("0.33"), Decimal("0.33")]
    assert apportion(Decimal("-1.00"), [1, 1, 1], "AUD") == [
        Decimal("-0.34"),
        Decimal("-0.33"),
        Decimal("-0.33"),
    ]
    assert apportion(Decimal(100), [1, 2], "JPY") == [33, 67]


# COST-03: 180.00 over five volumes of 0.024 and five of 0.01368, computed by hand.
def test_the_worked_lots_freight() -> None:
    shares = apportion(Decimal(180), [Decimal("0.024")] * 5 + [Decimal("0.01368")] * 5, "AUD")
    assert shares == [Decimal("22.93")] * 5 + [Decimal("13.07")] * 5


def test_weights_of_nothing_share_evenly_and_bad_weights_are_refused() -> None:
    assert apportion(Decimal("0.03"), [0, 0, 0], "AUD") == [Decimal("0.01")] * 3
    for weights in ([], [1, -1], [Decimal("NaN")], [Decimal("Infinity")]):
        with pytest.raises(BadInput):
            apportion(Decimal(1), weights, "AUD")


@given(
    st.decimals(min_value=-(10**7), max_value=10**7, places=2),
    st.lists(
        st.one_of(
            st.integers(0, 10**6),
            st.decimals(min_value=0, max_value=10**6, places=5),
            st.fractions(min_value=0, max_value=10**6, max_denominator=10**6),
        ),
        min_size=1,
        max_size=30,
    ),
)
def test_shares_add_up_and_are_within_a_cent_of_proportion(
    total: Decimal, weights: list[int | Decimal | Fraction]
) -> None:
    shares = apportion(total, weights, "AUD")
    assert sum(shares) == total
    whole = sum(Fraction(weight) for weight in weights)
    for share, weight in zip(shares, weights, strict=True):
        wanted = Fraction(total) * Fraction(weight) / whole if whole else Fraction(total) / len(weights)
        assert abs(Fraction(share) - wanted) < Fraction(1, 100)


def test_money_is_never_rounded_on_the_way_in() -> None:
    assert exact("12.50", "AUD") == Decimal("12.50")
    for amount in ("12.505", "NaN", "Infinity", "twelve"):
        with pytest.raises(BadInput):
            exact(amount, "AUD")
    with pytest.raises(BadInput):
        exact("0.5", "JPY")


def test_halves_are_rounded_away_from_zero_as_on_an_invoice() -> None:
    assert rounded(Decimal("79.345"), "AUD") == Decimal("79.35")
    assert rounded(Decimal("-79.345"), "AUD") == Decimal("-79.35")


def test_currencies_know_their_smallest_coin_and_money_is_shown_with_its_currency() -> None:
    assert [minor_digits(code) for code in ("AUD", "JPY", "KWD")] == [2, 0, 3]
    assert show(Decimal("1234.5"), "AUD") == "1,234.50 AUD"
