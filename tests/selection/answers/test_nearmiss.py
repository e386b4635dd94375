"""The least change told lets the board in, made by the job's document, and a little less does not."""

from dataclasses import replace

import pytest

from stockyard.selection.answers.cases import case_of
from stockyard.selection.answers.nearmiss import remedies
from stockyard.timber import DefectKind, Do, Rule, Rules, Stock
from tests.builders import a_board, a_box, a_defect, a_job
from tests.selection.answers.lone_staves import changed, changed_board, gives_a_stave
from tests.selection.random_instances import an_instance


@pytest.mark.parametrize("seed", range(100, 140))
def test_each_remedy_lets_the_board_in_by_the_brute_force(seed):
    job, stock = an_instance(seed)
    for panel in job.panels:
        for board in stock.boards:
            case = case_of(stock, job, board.id, panel.id)
            for remedy in remedies(case):
                other, mended = changed(job, panel.id, remedy.changes)
                freed = any(change.setting == "reserved" for change in remedy.changes)
                held = None if freed else case.reserved
                there = changed_board(board, remedy.changes)
                assert gives_a_stave(there, other, mended, held), remedy


@pytest.mark.parametrize("seed", range(140, 170))
def test_a_board_that_lacks_a_size_suits_with_so_much_more_and_not_with_a_step_less(seed):
    job, stock = an_instance(seed)
    steps = {"length": 1.0, "width": 1.0, "thickness": 0.1}
    for panel in job.panels:
        for board in stock.boards:
            for remedy in remedies(case_of(stock, job, board.id, panel.id)):
                (first, *more) = remedy.changes
                name = first.setting.removeprefix("board.")
                if more or name not in steps:
                    continue
                less = replace(board, **{f"{name}_mm": round(first.new - steps[name], 6)})
                assert gives_a_stave(replace(board, **{f"{name}_mm": first.new}), job, panel)
                assert not gives_a_stave(less, job, panel)


def told(board, job):
    found = remedies(case_of(Stock((board,)), job, board.id, "top"))
    return [[change.detail for change in remedy.changes] for remedy in found]


def test_a_board_too_short_says_by_how_much():
    # The top takes 1200 + 2 x 10 between ends of 20 mm: 1260.
    assert told(a_board(length_mm=1248), a_job()) == [["12 mm too short"]]


def test_a_board_too_wet_and_too_thin_says_both():
    # 24 mm and two faces of 1.5 make 27.
    assert told(a_board(moisture_pct=14.8, thickness_mm=25.5), a_job()) == [
        ["0.8 % too wet", "1.5 mm too thin after flattening"]
    ]


def test_a_crack_a_little_too_long_names_the_limit_that_would_treat_it():
    crack = a_defect(outline=a_box(1100, 0, 1280, 180), kind=DefectKind.CRACK)
    treated = Rule(Do.TREAT, max_length_mm=150)
    kept_off = Rules(show={DefectKind.CRACK: treated}, back={DefectKind.CRACK: treated})
    base = a_job(rules=kept_off)
    # Without clear strips a crack across the board is only a matter of the rule.
    job = replace(base, allowances=replace(base.allowances, glue_clear_mm=0, end_clear_mm=0))
    found = remedies(case_of(Stock((a_board(defects=(crack,)),)), job, "SG-0001", "top"))
    first = next(each for each in found if each.changes[0].setting.startswith("rules."))
    assert first.changes[0].new == 180
    assert first.changes[0].detail in (
        "if max_length for crack on the back were 180 mm",
        "if max_length for crack on the show face were 180 mm",
    )


def test_a_board_that_suits_needs_no_remedy():
    assert told(a_board(), a_job()) == []
