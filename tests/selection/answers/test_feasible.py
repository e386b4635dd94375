"""Can it be made at all? Against the brute force, and against room counted by hand."""

from dataclasses import replace
from time import monotonic

import pytest

from stockyard.selection.answers.feasible import Answer, Feasibility
from stockyard.selection.answers.room import may_be_made, ways_of, width_across
from stockyard.selection.instance import as_whole
from stockyard.timber import DefectKind, Stock
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.selection.brute_force import best_selection
from tests.selection.random_instances import an_instance


@pytest.mark.parametrize("seed", range(500, 530))
def test_yes_and_no_are_those_of_the_brute_force(seed):
    job, stock = an_instance(seed)
    made = best_selection(job, stock).made
    answer = Feasibility(stock, monotonic() + 20).ask(job).answer
    assert answer is (Answer.YES if sum(made) == len(job.panels) else Answer.NO)


@pytest.mark.parametrize("seed", range(530, 560))
def test_what_can_be_made_has_room(seed):
    job, stock = an_instance(seed)
    if sum(best_selection(job, stock).made) == len(job.panels):
        instance = as_whole(stock, job)
        assert may_be_made(instance, ways_of(instance))


def test_decay_along_the_whole_board_takes_its_width_away():
    strip = a_defect(kind=DefectKind.DECAY, outline=a_box(0, 80, 2400, 100))
    instance = as_whole(Stock((a_board(width_mm=250, defects=(strip,)),)), a_job())
    # 250 less 20 of decay and 3 for jointing at each edge; an outer edge takes 5.
    assert width_across(ways_of(instance)[0][0]) == 250 - 20 - 2 * 3


def test_three_panels_that_would_each_fit_are_too_much_together():
    # Three boards give one stave of 174 each, 522 mm in all: enough for one top of 380, not for two.
    boards = Stock(tuple(a_board(id=name) for name in "abc"))
    one, two = a_panel(), replace(a_panel(), id="second")
    once, twice = as_whole(boards, a_job(one)), as_whole(boards, a_job(one, two))
    assert may_be_made(once, ways_of(once))
    assert not may_be_made(twice, ways_of(twice))
    assert Feasibility(boards, monotonic() + 5).ask(a_job(one, two)).answer is Answer.NO


def test_no_time_gives_no_answer_and_says_so():
    asking = Feasibility(Stock(tuple(a_board(id=name) for name in "abcd")), monotonic())
    assert asking.ask(a_job()).answer is Answer.UNKNOWN
    assert asking.out_of_time
