from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from stockyard.ledger.holding import Holding
from stockyard.measures.rounding import adding_up
from stockyard.reports.holdings import holdings_table


def a_holding(**changes: Any) -> Holding:
    values: dict[str, Any] = {
        "number": "SG-0001",
        "species": "spotted gum",
        "length_mm": 2400.0,
        "width_mm": 200.0,
        "thickness_mm": 50.0,
        "place": "rack 1",
        "status": "free",
        "docket": "D-1",
        "gross_mm3": Decimal(24_000_000),
        "clear_mm3": Decimal(20_000_000),
        "worth": Decimal("178.93"),
    }
    return Holding(**(values | changes))


def test_a_single_board_is_measured_in_every_trade_unit() -> None:
    # 2400 x 200 x 50 mm is 0.024 m3 and 10.171 board feet: computed from the definition of the board foot,
    # 144 cubic inches of 25.4 mm.
    total = holdings_table([a_holding()], [], "AUD").iloc[-1]
    assert (total["pieces"], total["gross_m3"], total["clear_m3"]) == (
        1,
        Decimal("0.0240"),
        Decimal("0.0200"),
    )
    assert (total["lineal_m"], total["board_feet"]) == (Decimal("2.40"), Decimal("10.17"))
    assert total["worth"] == Decimal("178.93")


def test_an_empty_rack_is_a_total_of_nothing() -> None:
    table = holdings_table([], ["species"], "AUD")
    assert list(table["pieces"]) == [0]


def test_groups_come_in_order_and_the_total_last() -> None:
    rack = [a_holding(species=name) for name in ("jarrah", "blackbutt", "jarrah")]
    table = holdings_table(rack, ["species"], "AUD")
    assert list(table["species"]) == ["blackbutt", "jarrah", "total"]
    assert list(table["pieces"]) == [1, 2, 3]


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["jarrah", "blackbutt", "spotted gum"]),
            st.integers(1, 10**9),
            st.decimals("0", "9999", places=2),
        ),
        max_size=20,
    )
)
def test_every_column_adds_up_to_its_printed_total(pieces: list[tuple[str, int, Decimal]]) -> None:
    rack = [
        a_holding(species=species, gross_mm3=Decimal(gross), clear_mm3=Decimal(gross), worth=worth)
        for species, gross, worth in pieces
    ]
    table = holdings_table(rack, ["species"], "AUD")
    for column in ("pieces", "gross_m3", "clear_m3", "lineal_m", "board_feet", "worth"):
        assert sum(table[column].iloc[:-1]) == table[column].iloc[-1]


@given(st.lists(st.decimals("-1000", "1000", places=6), max_size=30), st.integers(0, 4))
def test_rounded_figures_add_up_and_stay_within_a_unit(values: list[Decimal], digits: int) -> None:
    unit = Decimal(1).scaleb(-digits)
    rounded = adding_up(values, digits)
    assert abs(sum(rounded, Decimal(0)) - sum(values, Decimal(0))) <= unit / 2
    assert all(abs(new - old) < unit for new, old in zip(rounded, values, strict=True))
