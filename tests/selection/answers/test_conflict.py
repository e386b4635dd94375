"""Demands that cannot be met together, and what helps: by hand, and against the brute force."""

from dataclasses import replace

import pytest

from stockyard.selection import check_plan
from stockyard.selection.answers.conflict import conflict_of, irreducible
from stockyard.selection.answers.feasible import Answer, penniless
from stockyard.timber import Stock
from tests.builders import a_board, a_job, a_panel
from tests.selection.answers.lone_staves import changed
from tests.selection.answers.pairs import JOB, a_short_board
from tests.selection.brute_force import best_selection
from tests.selection.random_instances import an_instance


def told(conflict):
    return [demand.what for demand in conflict.demands]


def details(conflict):
    return [" and ".join(change.detail for change in each.changes) for each in conflict.relaxations]


def test_boards_of_another_species_conflict_with_the_species():
    stock = Stock(tuple(a_board(id=name, species="jarrah") for name in "abc"))
    found = conflict_of(stock, a_job(), "top")
    assert (told(found), found.proved) == (["species"], True)
    assert details(found) == ["if jarrah were allowed"]
    assert found.demands[0].detail == "spotted gum"


def test_boards_too_thin_and_too_few_say_how_much_thinner():
    # 26 mm less 2 x 1.5 leaves 23 of the 24 asked for.
    stock = Stock(tuple(a_board(id=name, thickness_mm=26) for name in "abc"))
    found = conflict_of(stock, a_job(), "top")
    assert set(told(found)) == {"thickness", "planing"}
    assert "if the panel were 23 mm thick" in details(found)
    assert "if planing off each face were 1 mm" in details(found)


def test_readings_too_far_apart_say_how_far_they_are():
    stock = Stock((a_short_board("a", 20, moisture_pct=9.0), a_short_board("b", 20, moisture_pct=12.5)))
    found = conflict_of(stock, JOB, "top")
    assert "spread" in told(found)
    assert "if moisture spread in a panel were 3.5 %" in details(found)


def test_as_few_promised_boards_as_will_do_are_asked_for():
    stock = Stock(
        (a_short_board("a", 20), a_short_board("b", 20), a_short_board("c", 20, length_mm=300)),
        reserved={"b": "promised to plan 4", "c": "promised to plan 4"},
    )
    found = conflict_of(stock, JOB, "top")
    assert "promised" in told(found)
    assert "if b were free" in details(found)


def test_panels_that_want_the_same_boards_are_named_together():
    job = replace(JOB, panels=(JOB.panels[0], replace(JOB.panels[0], id="second", priority=2)))
    stock = Stock((a_short_board("a", 20), a_short_board("b", 20), a_short_board("c", 20)))
    found = conflict_of(stock, job, "second")
    assert [demand.detail for demand in found.demands] == ["top", "second"]
    assert conflict_of(stock, job, "top") is None


def test_every_relaxation_shows_a_lawful_plan_of_the_changed_job():
    stock = Stock(tuple(a_board(id=name, thickness_mm=26) for name in "abc"))
    job = a_job()
    for each in conflict_of(stock, job, "top").relaxations:
        other, _ = changed(job, "top", each.changes)
        free_stock, free_job = penniless(stock, other)
        assert each.plan.job == free_job
        assert all(made.made for made in each.plan.panels)
        lawful = replace(each.plan, rejected=())
        assert check_plan(lawful, replace(free_stock, reserved={})) == ()


@pytest.mark.parametrize("seed", range(300, 312))
def test_a_panel_is_in_conflict_just_where_the_brute_force_cannot_make_it(seed):
    job, stock = an_instance(seed)
    panel = job.panels[0]
    alone = replace(job, panels=(panel,))
    found = conflict_of(stock, alone, panel.id, seconds=10)
    assert (found is None) == (best_selection(alone, stock).cost is not None)
    for each in found.relaxations if found else ():
        if any(change.setting == "reserved" for change in each.changes):
            continue
        other, _ = changed(alone, panel.id, each.changes)
        assert best_selection(other, stock).cost is not None, each.changes


def test_an_irreducible_set_has_none_to_spare():
    # Together at most two of the three may be had, and d is harmless.
    def can(held):
        return Answer.NO if {"a", "b", "c"} <= set(held) else Answer.YES

    assert irreducible(["d", "a", "b", "c"], can) == (["a", "b", "c"], True)


def test_an_uncertain_answer_makes_the_set_unproved():
    def can(held):
        return Answer.UNKNOWN if "a" in held else Answer.YES

    kept, sure = irreducible(["b", "a"], can)
    assert (kept, sure) == (["a"], False)


def test_a_panel_that_can_be_made_has_no_conflict():
    assert (
        conflict_of(Stock((a_board(id="a"), a_board(id="b"), a_board(id="c"))), a_job(a_panel()), "top")
        is None
    )
