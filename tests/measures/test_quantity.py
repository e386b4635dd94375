from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.measures.quantity import parse_quantity, show_quantity


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("500", "g", "500"),
        ("2 kg", "g", "2000"),
        ("1.5L", "mL", "1500"),
        ("1,250 mL", "mL", "1250"),
        ("200", "each", "200"),
        ("0.5", "g", "0.5"),
        ("0", "each", "0"),
    ],
)
def test_a_quantity_is_read_in_the_unit_it_is_counted_in(text: str, unit: str, value: str) -> None:
    assert parse_quantity(text, unit) == Decimal(value)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("2 kg", "mL"),
        ("two", "g"),
        ("-5", "g"),
        ("1 l", "each"),
        ("0.0001", "g"),
        ("", "g"),
        ("1,000000000000000000000000000.5", "g"),
        ("1000000000000", "each"),
    ],
)
def test_what_is_no_quantity_of_that_unit_is_refused(text: str, unit: str) -> None:
    with pytest.raises(BadInput):
        parse_quantity(text, unit)


def test_a_quantity_is_shown_with_its_unit_and_no_more_digits_than_it_has() -> None:
    assert show_quantity(Decimal("1250.000"), "g") == "1,250 g"
    assert show_quantity(Decimal("0.5"), "mL") == "0.5 mL"
    assert show_quantity(Decimal(200), "each") == "200"
