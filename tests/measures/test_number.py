from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.number import DecimalMark, number_readings, parse_number


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2400", "2400"),
        ("2.4", "2.4"),
        ("2,4", "2.4"),
        ("0.250", "0.250"),
        ("0,250", "0.250"),
        (".5", "0.5"),
        ("12.", "12"),
        ("1,234.50", "1234.50"),
        ("1.234,50", "1234.50"),
        ("1.234.567", "1234567"),
        ("1 234,5", "1234.5"),
        ("1\u202f234,5", "1234.5"),
        ("1'234.50", "1234.50"),
        ("1234.567", "1234.567"),
        ("  7 ", "7"),
    ],
)
def test_a_number_that_can_be_read_one_way_is_read_that_way(text: str, value: str) -> None:
    assert parse_number(text) == Decimal(value)


def test_a_single_mark_before_three_figures_could_be_either_and_is_refused() -> None:
    with pytest.raises(BadInput, match=r"plainly 2\.400 or 2400"):
        parse_number("2,400")


@pytest.mark.parametrize(("mark", "value"), [(DecimalMark.POINT, "2400"), (DecimalMark.COMMA, "2.4")])
def test_the_documents_decimal_mark_settles_it(mark: DecimalMark, value: str) -> None:
    assert parse_number("2,400", mark) == Decimal(value)


def test_a_number_that_plainly_uses_the_other_mark_is_refused() -> None:
    with pytest.raises(BadInput, match="decimal mark"):
        parse_number("2.5", DecimalMark.COMMA)


@pytest.mark.parametrize(
    "text",
    ["", " ", "-5", "+5", "1e3", "NaN", "inf", "Infinity", "1,23,4", "12,34,567", "0,123,456", "1.2.3",
     "1,2.3", "1,234,56", "--", ".", ",", "٣", "½", "1_000", "0x10", "9" * 40, "1,234.5.6"],
)  # fmt: skip
def test_what_is_no_plain_number_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_number(text)


@given(
    st.decimals(min_value=0, max_value=10**9, places=2, allow_nan=False, allow_infinity=False),
    st.sampled_from(list(DecimalMark)),
)
def test_a_number_written_with_groups_and_two_decimals_comes_back(value: Decimal, mark: DecimalMark) -> None:
    english = f"{value:,.2f}"
    text = english if mark is DecimalMark.POINT else english.translate(str.maketrans(".,", ",."))
    assert parse_number(text) == value
    assert parse_number(text, mark) == value


@given(st.text(max_size=40))
def test_any_text_is_a_number_or_bad_input(text: str) -> None:
    for value in number_readings(text).values():
        assert value.is_finite()
        assert value >= 0
