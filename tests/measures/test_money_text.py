from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.money_text import check_currency, parse_amount, parse_price
from stockyard.measures.number import DecimalMark


@pytest.mark.parametrize(
    ("text", "currency", "value"),
    [
        ("1176.72", "AUD", "1176.72"),
        ("$1,234.50", "AUD", "1234.50"),
        ("A$ 1,234.50", "AUD", "1234.50"),
        ("AUD 1,234.50", "AUD", "1234.50"),
        ("1,234.50 aud", "AUD", "1234.50"),
        ("1.234,50 €", "EUR", "1234.50"),
        ("€1.234,50", "EUR", "1234.50"),
        ("(12.00)", "AUD", "-12.00"),
        ("($12.00)", "AUD", "-12.00"),
        ("-12.00", "AUD", "-12.00"),
        ("-$12.00", "AUD", "-12.00"),
        ("$-12.00", "AUD", "-12.00"),
        ("12.00-", "AUD", "-12.00"),
        ("£ 5", "GBP", "5"),
        ("1 234,50 kr", "SEK", "1234.50"),
        ("1,250", "JPY", "1250"),
    ],
)
def test_a_sum_as_dockets_write_it(text: str, currency: str, value: str) -> None:
    assert parse_amount(text, currency) == Decimal(value)


@pytest.mark.parametrize("text", ["12.505", "12,505"])
def test_a_sum_too_fine_by_one_decimal_or_a_thousand_times_as_large_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match=r"plainly 12\.505 or 12505"):
        parse_amount(text, "AUD")
    assert parse_amount("12,505", "AUD", decimal_mark=DecimalMark.POINT) == 12505


@pytest.mark.parametrize(
    ("text", "currency"),
    [("12.3456", "AUD"), ("0.125", "AUD"), ("0.5", "JPY"), ("1.2345", "KWD"), ("1234.567", "EUR")],
)
def test_a_sum_with_more_decimals_than_its_currency_is_refused(text: str, currency: str) -> None:
    with pytest.raises(BadInput, match="decimals"):
        parse_amount(text, currency)


def test_a_sum_on_a_sheet_of_decimal_commas_keeps_to_them_even_where_that_is_too_fine() -> None:
    with pytest.raises(BadInput, match="decimals"):
        parse_amount("12,345", "EUR", decimal_mark=DecimalMark.COMMA)


@pytest.mark.parametrize(
    ("text", "currency"), [("US$5", "AUD"), ("€5", "AUD"), ("$5", "EUR"), ("5 GBP", "EUR")]
)
def test_another_currency_is_refused(text: str, currency: str) -> None:
    with pytest.raises(BadInput, match="another currency"):
        parse_amount(text, currency)


@pytest.mark.parametrize(
    "text",
    ["", "free", "nan", "1e5", "--5", "(5", "5)", "-(5)", "$", "5 per m3", "1,2,3", "99999999999", "9" * 80],
)
def test_what_is_no_sum_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_amount(text, "AUD")


def test_a_price_may_be_finer_than_a_cent_but_not_endlessly_and_not_below_zero() -> None:
    assert parse_price("$5.4375", "AUD") == Decimal("5.4375")
    for text in ["5.43754321", "-5.00", "(5.00)"]:
        with pytest.raises(BadInput):
            parse_price(text, "AUD")


def test_a_price_that_could_be_two_is_refused_until_the_mark_is_known() -> None:
    with pytest.raises(BadInput, match=r"plainly 6\.500 or 6500"):
        parse_price("6,500", "AUD")
    assert parse_price("6,500", "AUD", decimal_mark=DecimalMark.POINT) == 6500


@given(st.decimals(min_value=-(10**8), max_value=10**8, places=2))
def test_a_sum_written_out_comes_back(value: Decimal) -> None:
    assert parse_amount(f"${abs(value):,.2f}" if value >= 0 else f"(${abs(value):,.2f})", "AUD") == value


@given(st.text(max_size=70), st.sampled_from(["AUD", "JPY", "KWD"]))
def test_any_text_is_a_finite_sum_or_bad_input(text: str, currency: str) -> None:
    for parse in (parse_amount, parse_price):
        try:
            assert parse(text, currency).is_finite()
        except BadInput:
            continue


def test_a_currency_is_three_capitals() -> None:
    assert check_currency("AUD") == "AUD"
    for code in ["aud", "A$", "", "AUDD", "ÄUD"]:
        with pytest.raises(BadInput):
            check_currency(code)
