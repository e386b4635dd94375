"""What a board adds, against the list of every plan there is."""

from random import Random

import pytest

from stockyard.selection.answers.suits import suits_of
from stockyard.timber import Stock
from tests.selection.answers.pairs import JOB, a_short_board, all_pairs


@pytest.mark.parametrize("seed", range(4))
def test_a_board_adds_what_the_best_plan_with_it_costs_more(seed):
    rng = Random(seed)
    boards = tuple(
        a_short_board(
            f"b{n}", rng.randint(20, 60), veins=rng.randint(0, 2), lightness=float(rng.randint(40, 60))
        )
        for n in range(6)
    )
    found = suits_of(Stock(boards), JOB, "top", seconds=30)
    every = all_pairs(boards)
    best = min(cost for _, cost, _, _ in every)
    assert {each.board for each in found.suited} == {board.id for board in boards}
    for each in found.suited:
        with_it = min(cost for pair, cost, _, _ in every if each.board in pair)
        assert float(each.adds) == pytest.approx(with_it - best, abs=1e-4)
        assert each.proved
    added = [each.adds for each in found.suited]
    assert added == sorted(added)


def test_boards_that_do_not_suit_come_nearest_first_with_what_would_let_them_in():
    good = [a_short_board(f"b{n}", 20 + n) for n in range(3)]
    short = a_short_board("short", 20, length_mm=456)
    shorter = a_short_board("shorter", 20, length_mm=300)
    found = suits_of(Stock((shorter, short, *good)), JOB, "top", seconds=20)
    assert [each.board for each in found.unsuited] == ["short", "shorter"]
    assert found.unsuited[0].remedies[0].changes[0].detail == "4 mm too short"
    assert [obstacle.why for obstacle in found.unsuited[0].obstacles] == ["length"]


def test_the_search_stops_when_told_to():
    boards = tuple(a_short_board(f"b{n}", 20 + n) for n in range(5))
    found = suits_of(Stock(boards), JOB, "top", seconds=20, on_board=lambda name: True)
    known = [each for each in found.suited if each.adds is not None]
    assert {each.board for each in known} == {"b0", "b1"}
