from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.prep.quote import (
    Profit,
    QuoteLine,
    Rates,
    Waste,
    Work,
    gross_of_net,
    make_quote,
    timber_of_plan,
    timber_to_buy,
)
from tests.prep.plans import a_plan


def test_twenty_percent_of_waste_is_two_different_sums():
    # Net 1.00: 1.25 as a loss of yield, 1.20 added on (computed).
    assert gross_of_net(Decimal(1), Decimal(20), Waste.YIELD_LOSS) == Decimal("1.25")
    assert gross_of_net(Decimal(1), Decimal(20), Waste.ADD_ON) == Decimal("1.20")


@pytest.mark.parametrize(
    ("pct", "waste"),
    [(-1, Waste.ADD_ON), (100, Waste.YIELD_LOSS), ("NaN", Waste.ADD_ON), ("Infinity", Waste.ADD_ON)],
)
def test_a_share_that_is_none_is_refused(pct, waste):
    with pytest.raises(BadInput, match="no share of waste"):
        gross_of_net(Decimal(1), Decimal(pct), waste)


def test_timber_bought_says_how_waste_was_counted():
    # A board of 0.024 m3 at 6500 a cubic metre is 156.00; 20 % added 187.20, as yield loss 195.00 (computed).
    added = timber_to_buy(Decimal("0.024"), Decimal(6500), Rates())
    lost = timber_to_buy(Decimal("0.024"), Decimal(6500), Rates(waste=Waste.YIELD_LOSS))

    assert added.amount == Decimal("187.20")
    assert lost.amount == Decimal("195.00")
    assert "added to the net" in added.how
    assert "lost from the gross" in lost.how


def test_a_plan_costs_its_boards_less_what_goes_back():
    lines = timber_of_plan(a_plan())

    assert [(line.what, line.amount) for line in lines] == [
        ("timber", Decimal("96.00")),
        ("offcuts returned", Decimal("-12.50")),
    ]


WORK = Work(Decimal(90), Decimal(68), Decimal("0.5"), Decimal(20), Decimal("1.5"), 3)
RATES = Rates(
    labour=Decimal(80),
    glue=Decimal(15),
    cyanoacrylate=Decimal("0.60"),
    epoxy=Decimal("0.08"),
    finish=Decimal(60),
    cover_m2=Decimal(12),
)


def test_a_quote_adds_up_as_it_is_worked_by_hand():
    # 96.00 - 12.50 + 0.30 + 1.60 + 1.02 + 1.5 x 3 / 12 x 60 = 22.50 + 120.00 = 228.92; 20 % is 45.784,
    # so 45.78 and 274.70; tax 27.47; 302.17.
    quote = make_quote(timber_of_plan(a_plan()), WORK, RATES, "AUD")

    assert {line.what: line.amount for line in quote.lines} == {
        "timber": Decimal("96.00"),
        "offcuts returned": Decimal("-12.50"),
        "cyanoacrylate": Decimal("0.30"),
        "epoxy": Decimal("1.60"),
        "glue": Decimal("1.02"),
        "finish": Decimal("22.50"),
        "labour": Decimal("120.00"),
    }
    assert (quote.cost, quote.profit, quote.price) == (Decimal("228.92"), Decimal("45.78"), Decimal("274.70"))
    assert (quote.tax, quote.total) == (Decimal("27.47"), Decimal("302.17"))


def test_a_margin_is_a_share_of_the_price():
    # 75 at a margin of 25 %: 100, of which 25 is profit.
    rates = replace(RATES, profit=Profit.MARGIN, profit_pct=Decimal(25))
    quote = make_quote([QuoteLine("timber", Decimal(75), "")], Work(), rates, "AUD")

    assert (quote.price, quote.profit) == (Decimal(100), Decimal(25))
    assert "25 % of the price" in quote.assumes[0]


def test_what_is_not_used_has_no_line():
    quote = make_quote([QuoteLine("timber", Decimal(75), "")], Work(), RATES, "AUD")

    assert [line.what for line in quote.lines] == ["timber"]


def test_parts_and_sums_agree_to_the_cent():
    thirds = [QuoteLine(f"timber {n}", Decimal(100) / 3, "") for n in range(3)]
    quote = make_quote(thirds, WORK, RATES, "AUD")

    assert sum(line.amount for line in quote.lines) == quote.cost
    assert quote.cost + quote.profit + quote.tax == quote.total


@pytest.mark.parametrize(
    "rates",
    [
        replace(RATES, labour=Decimal(-1)),
        replace(RATES, cover_m2=Decimal(0)),
        replace(RATES, profit=Profit.MARGIN, profit_pct=Decimal(100)),
        replace(RATES, tax_pct=Decimal("NaN")),
    ],
)
def test_rates_that_cannot_be_are_refused(rates):
    with pytest.raises(BadInput, match="cannot be worked out"):
        make_quote([], WORK, rates, "AUD")


def test_the_defaults_are_the_workshops_habits():
    rates = Rates()

    assert (rates.waste_pct, rates.waste, rates.profit, rates.tax_pct) == (
        20,
        Waste.ADD_ON,
        Profit.MARKUP,
        10,
    )
