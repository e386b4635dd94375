"""How likely a plan survives, against every case listed by hand."""

from dataclasses import replace
from decimal import Decimal
from itertools import product

import pytest

from stockyard.selection import select
from stockyard.selection.answers.survival import survival_of
from stockyard.timber import Stock
from tests.selection.answers.pairs import JOB, a_short_board

CHANCES = {"b0": 0.1, "b1": 0.2, "b2": 0.05, "b3": 0.05}


def exactly(panels, spares):
    """Boards of one stave each: a plan survives when no more staves are lost than there are spares."""
    staves = [chance for panel in panels for chance in panel]
    total = 0.0
    for lost in product((False, True), repeat=len(staves)):
        share = 1.0
        for gone, chance in zip(lost, staves, strict=True):
            share *= chance if gone else 1 - chance
        total += share * (sum(lost) <= spares)
    return total


@pytest.fixture
def stock():
    return Stock(tuple(a_short_board(f"b{n}", value) for n, value in enumerate((20, 21, 30, 25))))


def test_chances_are_those_of_every_case_listed(stock):
    plan = select(stock, JOB)
    told = survival_of(plan, stock, CHANCES, seconds=20)
    assert told.unharmed == pytest.approx(0.9 * 0.8)
    assert told.alone.low <= exactly([(0.1, 0.2)], 0) <= told.alone.high
    assert told.spare.chance.low <= exactly([(0.1, 0.2)], 1) <= told.spare.chance.high
    assert told.spare.chance.high - told.spare.chance.low < 0.006


def test_of_spares_that_mend_as_much_the_one_worth_least_is_put_aside(stock):
    told = survival_of(select(stock, JOB), stock, CHANCES, seconds=20)
    assert (told.spare.board, told.spare.value) == ("b3", Decimal(25))
    assert set(told.spare.covers) == {("top", 0), ("top", 1)}


def test_a_board_too_short_is_no_spare(stock):
    plan = select(stock, JOB)
    boards = (*stock.boards[:2], *(replace(board, length_mm=300) for board in stock.boards[2:]))
    told = survival_of(plan, replace(stock, boards=boards), CHANCES, seconds=20)
    assert told.spare is None
    # Neither loss can be mended, and each counts as much as is given.
    told = survival_of(plan, replace(stock, boards=boards), CHANCES, seconds=20, shortfall=Decimal(100))
    assert [loss.adds for loss in told.losses] == [None, None]
    assert float(told.expected) == pytest.approx(float(plan.cost) + 0.1 * 100 + 0.2 * 100)


def test_the_expected_cost_adds_what_mending_each_loss_comes_to(stock):
    plan = select(stock, JOB)
    told = survival_of(plan, stock, CHANCES, seconds=20)
    # Either stave is mended from b3: its 25.00 and 4.00 for handling.
    assert [loss.adds for loss in told.losses] == [Decimal(29), Decimal(29)]
    assert float(told.expected) == pytest.approx(49 + 0.1 * 29 + 0.2 * 29)


def test_a_plan_of_surer_boards_is_offered_where_it_costs_less_on_average():
    stock = Stock(tuple(a_short_board(f"b{n}", value) for n, value in enumerate((20, 20, 22, 22))))
    plan = select(stock, JOB)
    assert {cut.id for cut in plan.boards} == {"b0", "b1"}
    risky = {"b0": 0.5, "b1": 0.5, "b2": 0.01, "b3": 0.01}
    told = survival_of(plan, stock, risky, seconds=20)
    assert {cut.id for cut in told.steadier.plan.boards} == {"b2", "b3"}
    # 44 + 8 and one loss in a hundred, twice, mended for 24; against 48 and every other stave lost, for 26.
    assert float(told.steadier.expected) == pytest.approx(52 + 0.01 * 24 * 2)
    assert float(told.expected) == pytest.approx(48 + 0.5 * 26 * 2)


def test_without_any_risk_nothing_is_put_aside(stock):
    told = survival_of(select(stock, JOB), stock, {}, seconds=5)
    assert (told.unharmed, told.alone.low, told.spare) == (1.0, 1.0, None)
