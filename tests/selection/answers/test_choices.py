"""The choices offered against the list of every plan there is."""

from datetime import date
from decimal import Decimal
from random import Random

import pytest

from stockyard.selection import check_plan
from stockyard.selection.answers.choices import betters, choices_of
from stockyard.selection.wishes import Wishes
from stockyard.timber import Stock
from tests.selection.answers.pairs import JOB, a_short_board, all_pairs


def boards_of(seed):
    rng = Random(seed)
    return tuple(
        a_short_board(
            f"b{n}", rng.randint(20, 40), veins=rng.randint(0, 3), lightness=float(rng.randint(40, 60))
        )
        for n in range(7)
    )


def cut(choice):
    return {board.id for board in choice.plan.boards}


@pytest.mark.parametrize("seed", range(6))
def test_what_is_offered_is_on_the_edge_of_all_there_is(seed):
    boards = boards_of(seed)
    stock, every = Stock(boards), all_pairs(boards)
    received = {board.id: date(2026, 1, 1 + 20 * (n % 2)) for n, board in enumerate(boards)}
    found = choices_of(stock, JOB, 4, received=received, seconds=20, within=1.0)
    cheapest = min(cost for _, cost, _, _ in every)
    assert float(found.choices[0].plan.cost) == pytest.approx(cheapest, abs=1e-5)
    told = {}
    for choice in found.choices:
        assert check_plan(choice.plan, stock) == ()
        assert float(choice.more) == pytest.approx(float(choice.plan.cost) - cheapest, abs=1e-5)
        ((_, cost, treated, unlike),) = [each for each in every if each[0] == cut(choice)]
        assert float(choice.plan.cost) == pytest.approx(cost, abs=1e-5)
        assert choice.counts["fewest treatments"] == treated
        assert choice.counts["best match"] == pytest.approx(unlike, abs=1e-5)
        for aim in choice.aims:
            told[aim] = choice
        # Proved of its first aim: no plan there is has less of it at no more cost.
        if choice.proved and choice.aims[0] in ("fewest treatments", "best match"):
            column = 2 if choice.aims[0] == "fewest treatments" else 3
            mine = (treated, unlike)[column - 2]
            assert not any(each[column] < mine - 1e-6 and each[1] <= cost + 1e-6 for each in every)
    if "fewest treatments" in told:
        least = min(treated for _, _, treated, _ in every)
        assert told["fewest treatments"].counts["fewest treatments"] == least
    sets = [frozenset(cut(choice)) for choice in found.choices]
    assert len(set(sets)) == len(sets)


def test_fewest_treatments_is_the_cheapest_plan_that_has_so_few():
    boards = (
        a_short_board("cracked 1", 20, veins=2),
        a_short_board("cracked 2", 20, veins=2),
        a_short_board("clear 1", 30),
        a_short_board("clear 2", 31),
        a_short_board("clear 3", 35),
    )
    # 20 + 20 + 4 x 3 beats 30 + 31 by nine.
    found = choices_of(Stock(boards), JOB, 3, seconds=20, within=0.5)
    by_aim = {aim: choice for choice in found.choices for aim in choice.aims}
    assert cut(by_aim["cheapest"]) == {"cracked 1", "cracked 2"}
    assert cut(by_aim["fewest treatments"]) == {"clear 1", "clear 2"}
    assert by_aim["fewest treatments"].more == Decimal(9)
    assert by_aim["fewest treatments"].proved


def test_oldest_stock_first_costs_what_the_older_boards_cost_more():
    boards = tuple(a_short_board(f"b{n}", value) for n, value in enumerate((20, 21, 25, 26)))
    received = dict(zip("b0 b1 b2 b3".split(), [date(2026, 3, 1)] * 2 + [date(2025, 3, 1)] * 2, strict=True))
    found = choices_of(Stock(boards), JOB, 2, received=received, seconds=20)
    assert cut(found.choices[1]) == {"b2", "b3"}
    assert "oldest stock first" in found.choices[1].aims
    assert found.choices[1].more == Decimal(10)


def test_no_choice_costs_more_than_it_may():
    boards = tuple(a_short_board(f"b{n}", 20 + 30 * n, veins=max(0, 2 - n)) for n in range(5))
    found = choices_of(Stock(boards), JOB, 6, seconds=20, within=0.2)
    assert all(choice.plan.cost <= found.choices[0].plan.cost * Decimal("1.2") for choice in found.choices)


def test_wishes_hold_for_every_choice():
    boards = boards_of(11)
    wishes = Wishes(forbid=frozenset({"b0"}), must=frozenset({("b3", "top")}))
    for choice in choices_of(Stock(boards), JOB, 4, seconds=20, wishes=wishes).choices:
        assert "b3" in cut(choice)
        assert "b0" not in cut(choice)


def test_a_job_that_cannot_be_made_has_one_answer():
    found = choices_of(Stock((a_short_board("b0", 20),)), JOB, 3, seconds=5)
    assert len(found.choices) == 1
    assert not found.choices[0].plan.panels[0].made


def test_bettering_is_nowhere_worse_and_somewhere_better():
    assert betters((1, 2), (1, 3))
    assert not betters((1, 2), (1, 2))
    assert not betters((0, 4), (1, 3))
