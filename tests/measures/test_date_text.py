from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.measures.date_text import parse_date


@pytest.mark.parametrize(
    "text",
    ["2026-11-24", "24/11/2026", "24.11.2026", "24-11-2026", "24 Nov 2026", "24-Nov-2026", "24 November 2026",
     "24th Nov. 2026", "2026-11-24 00:00:00"],
)  # fmt: skip
def test_a_day_as_dockets_write_it(text: str) -> None:
    assert parse_date(text) == date(2026, 11, 24)


def test_the_day_stands_first_unless_told_otherwise() -> None:
    assert parse_date("05/06/2026") == date(2026, 6, 5)
    assert parse_date("05/06/2026", month_first=True) == date(2026, 5, 6)


@pytest.mark.parametrize(
    "text",
    ["", "soon", "11/24/2026", "31/02/2026", "24/11/26", "2026-13-01", "24/11-2026", "0000-01-01",
     "1066-10-14", "24 Foo 2026", "24 Julyish 2026", "45980"],
)  # fmt: skip
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse_date(text, where="docket date")


@given(st.dates(min_value=date(1900, 1, 1)))
def test_a_day_written_out_comes_back(day: date) -> None:
    assert parse_date(day.isoformat()) == day
    assert parse_date(day.strftime("%d/%m/") + f"{day.year:04}") == day
    assert parse_date(f"{day.day} {day.strftime('%B')} {day.year:04}") == day


@given(st.text(max_size=30))
def test_any_text_is_a_day_or_bad_input(text: str) -> None:
    try:
        parse_date(text)
    except BadInput:
        return
