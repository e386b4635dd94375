from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.length import (
    Dimension,
    LengthUnit,
    check_size,
    parse_length,
    show_feet_inches,
    show_mm,
)
from stockyard.measures.number import DecimalMark

PINT = pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("2400 mm", "2400"),
        ("2400mm.", "2400"),
        ("240 cm", "2400"),
        ("2.4 m", "2400"),
        ("2,4m", "2400"),
        ("2.4 metres", "2400"),
        ("8'6\"", "2590.8"),
        ("8'6", "2590.8"),
        ("8' 6\"", "2590.8"),
        ("8′6″", "2590.8"),
        ("8’6”", "2590.8"),
        ("8 ft 6 in", "2590.8"),
        ("8ft. 6 1/2 in.", "2603.5"),
        ("8 ft 6 1/2 in", "2603.5"),
        ("8'-6 1/2\"", "2603.5"),
        ("8' 6½″", "2603.5"),
        ("8'", "2438.4"),
        ("8 1/2 ft", "2590.8"),
        ('1 1/2"', "38.1"),
        ("1-1/2 in", "38.1"),
        ('1½"', "38.1"),
        ("½ in", "12.7"),
        ("3/4''", "19.05"),
        ("7.25 in", "184.15"),
        ("6 7/16 inches", "163.5125"),
    ],
)
def test_a_length_with_its_unit_is_exact_millimetres(text: str, mm: str) -> None:
    assert parse_length(text) == Decimal(mm)


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("2400", LengthUnit.MM, "2400"),
        ("2.4", LengthUnit.M, "2400"),
        ("1 1/2", LengthUnit.IN, "38.1"),
        ("1½", LengthUnit.IN, "38.1"),
        ("8", LengthUnit.FT, "2438.4"),
        ("2.4 m", LengthUnit.MM, "2400"),
    ],
)
def test_a_bare_number_takes_the_unit_of_its_column_and_a_written_unit_goes_first(
    text: str, unit: LengthUnit, mm: str
) -> None:
    assert parse_length(text, unit) == Decimal(mm)


def test_a_bare_number_without_a_unit_is_refused() -> None:
    with pytest.raises(BadInput, match="with its unit"):
        parse_length("2400")


# Source: portablesawmill.info, rough thickness on the quarter scale.
@pytest.mark.parametrize(
    ("text", "mm"), [("4/4", "25.4"), ("5/4", "31.75"), ("6/4", "38.1"), ("8/4", "50.8")]
)
@pytest.mark.parametrize("unit", [None, LengthUnit.MM, LengthUnit.IN])
def test_a_thickness_on_the_quarter_scale(text: str, mm: str, unit: LengthUnit | None) -> None:
    assert parse_length(text, unit, dimension=Dimension.THICKNESS) == Decimal(mm)


def test_the_quarter_scale_is_for_thickness_only() -> None:
    with pytest.raises(BadInput):
        parse_length("5/4", LengthUnit.MM, dimension=Dimension.WIDTH)


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "mm"),
    [
        ("2,400", Dimension.LENGTH, LengthUnit.MM, "2400"),
        ("2.400", Dimension.LENGTH, LengthUnit.MM, "2400"),
        ("2.400", Dimension.LENGTH, LengthUnit.M, "2400"),
        ("2,400", Dimension.LENGTH, LengthUnit.M, "2400"),
        ("1,250", Dimension.THICKNESS, LengthUnit.IN, "31.75"),
        ("32.000", Dimension.THICKNESS, LengthUnit.MM, "32"),
    ],
)
def test_an_unclear_mark_is_settled_where_only_one_reading_is_a_board(
    text: str, dimension: Dimension, unit: LengthUnit, mm: str
) -> None:
    assert parse_length(text, unit, dimension=dimension) == Decimal(mm)


def test_an_unclear_mark_is_refused_where_nothing_settles_it() -> None:
    with pytest.raises(BadInput, match=r"plainly 2\.4 mm or 2400 mm"):
        parse_length("2,400", LengthUnit.MM)


def test_a_mark_that_contradicts_the_size_is_refused_rather_than_followed() -> None:
    with pytest.raises(BadInput, match="plainly"):
        parse_length("2,400", LengthUnit.MM, dimension=Dimension.LENGTH, decimal_mark=DecimalMark.COMMA)


@pytest.mark.parametrize(
    "text",
    ["", "long", "-2400 mm", "0 mm", "2400 parsecs", "8'14\"", "8.5' 6\"", "1 5/4 in", "1/3 in", "3/0 in",
     "1e3 mm", "nan mm", "inf mm", "8-6", "2400 mm 3", "1/2 mm", "2.4.4 m", "1" * 50 + " mm", "5 1/2 mm"],
)  # fmt: skip
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(BadInput) as raised:
        parse_length(text, LengthUnit.MM, where="row 3, column Length")
    assert raised.value.faults[0].where == "row 3, column Length"


@pytest.mark.parametrize(
    ("mm", "dimension"),
    [
        ("20000.1", Dimension.LENGTH),
        ("3000.1", Dimension.WIDTH),
        ("600.1", Dimension.THICKNESS),
        ("0.9", Dimension.LENGTH),
        ("0.9", Dimension.WIDTH),
        ("0.9", Dimension.THICKNESS),
        ("NaN", Dimension.LENGTH),
        ("Infinity", Dimension.WIDTH),
        ("-5", Dimension.WIDTH),
    ],
)
def test_a_size_no_board_has_is_refused(mm: str, dimension: Dimension) -> None:
    with pytest.raises(BadInput):
        check_size(Decimal(mm), dimension, "here")


@pytest.mark.parametrize(
    ("mm", "dimension"),
    [
        ("20000", Dimension.LENGTH),
        ("3000", Dimension.WIDTH),
        ("600", Dimension.THICKNESS),
        ("1", Dimension.WIDTH),
    ],
)
def test_the_bounds_themselves_are_allowed(mm: str, dimension: Dimension) -> None:
    assert check_size(Decimal(mm), dimension, "here") == Decimal(mm)


# Source: pint 0.25, default registry.
@given(
    st.decimals(min_value=1, max_value=9999, places=3),
    st.sampled_from(list(LengthUnit)),
)
def test_every_unit_agrees_with_pint(number: Decimal, unit: LengthUnit) -> None:
    name = {"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot"}[unit]
    assert number * unit.mm == PINT.Quantity(number, name).to("millimeter").magnitude


@given(st.integers(1, 20000))
def test_whole_millimetres_shown_are_read_back(mm: int) -> None:
    assert parse_length(show_mm(Decimal(mm)) + " mm", dimension=Dimension.LENGTH) == mm


@given(st.integers(1, 64 * 700))
def test_feet_and_inches_shown_are_read_back(sixty_fourths: int) -> None:
    mm = Decimal(sixty_fourths) / 64 * Decimal("25.4")
    assert Fraction(parse_length(show_feet_inches(mm, 64))) == Fraction(mm)


def test_feet_and_inches_are_shown_as_a_maker_writes_them() -> None:
    assert show_feet_inches(Decimal("2603.5")) == "8' 6 1/2\""
    assert show_feet_inches(Decimal("38.1")) == '1 1/2"'
    assert show_feet_inches(Decimal("2438.4")) == "8' 0\""
    assert show_feet_inches(Decimal("6.35")) == '1/4"'


@given(st.text(max_size=60), st.sampled_from([None, *LengthUnit]), st.sampled_from([None, *Dimension]))
def test_any_text_is_a_finite_length_or_bad_input(
    text: str, unit: LengthUnit | None, dimension: Dimension | None
) -> None:
    try:
        mm = parse_length(text, unit, dimension=dimension)
    except BadInput:
        return
    assert mm.is_finite()
    assert mm > 0


@given(st.text(alphabet="0123456789.,'\"/ -½¼mcinft", max_size=14), st.sampled_from([None, *Dimension]))
def test_any_text_that_looks_like_a_length_is_one_or_bad_input(
    text: str, dimension: Dimension | None
) -> None:
    try:
        mm = parse_length(text, LengthUnit.IN, dimension=dimension)
    except BadInput:
        return
    assert mm > 0
    assert dimension is None or 1 <= mm <= dimension.max_mm
