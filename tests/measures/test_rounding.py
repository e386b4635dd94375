from decimal import Decimal

from stockyard.measures.rounding import adding_up


def test_the_unit_left_over_goes_to_the_figure_cut_most() -> None:
    thirds = [Decimal("0.333"), Decimal("0.333"), Decimal("0.334")]
    assert adding_up(thirds, 2) == [Decimal("0.33"), Decimal("0.33"), Decimal("0.34")]


def test_the_earlier_of_equals_gets_it() -> None:
    assert adding_up([Decimal("0.5"), Decimal("0.5")], 0) == [Decimal(1), Decimal(0)]


def test_figures_below_zero_add_up_too() -> None:
    # Together 58.076, so 58.08: the credit was cut by 0.004 and the charge by 0.002, so the credit gives way.
    assert adding_up([Decimal("-20.126"), Decimal("78.202")], 2) == [Decimal("-20.12"), Decimal("78.20")]


def test_nothing_adds_up_to_nothing() -> None:
    assert adding_up([], 2) == []
