"""Planning again around what was lost: what stays, what changes, and what it costs."""

from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.selection import check_plan, select
from stockyard.selection.answers.again import Reach, plan_again
from stockyard.timber import Face, Stock
from tests.builders import a_board, a_job, a_panel
from tests.selection.answers.pairs import JOB, a_short_board


@pytest.fixture
def stock():
    return Stock(tuple(a_short_board(f"b{n}", value) for n, value in enumerate((20, 21, 30, 25))))


@pytest.fixture
def plan(stock):
    return select(stock, JOB)


def lost_of(plan, board):
    (made,) = plan.panels
    return made.id, [stave.board for stave in made.staves].index(board)


def test_a_spoiled_stave_is_replaced_from_the_cheapest_board_and_the_sound_one_stays(plan, stock):
    found = plan_again(plan, stock, lost=[lost_of(plan, "b0")])
    assert found.reach is Reach.REPLACED
    assert [blank.parent for blank in found.kept] == ["b1"]
    assert (found.added, found.dropped, found.moved, len(found.new)) == (("b3",), (), 0, 1)
    # The board worth 25.00 is cut beside the two that are cut already: its value and 4.00 to handle it.
    assert found.adds == Decimal(29)
    assert check_plan(found.plan, found.stock) == ()


def test_a_board_left_out_before_cutting_costs_only_the_difference(plan, stock):
    found = plan_again(plan, stock, gone=["b0"], reaches=(Reach.RECUT, Reach.EXCHANGED))
    assert {cut.id for cut in found.plan.boards} == {"b1", "b3"}
    assert found.adds == Decimal(5)
    assert found.kept == ()
    # b1 did not have to go, so it stayed.
    assert found.reach is Reach.RECUT


def test_losses_in_two_panels_are_each_replaced(stock):
    two = replace(JOB, panels=(JOB.panels[0], replace(JOB.panels[0], id="second")))
    boards = tuple(a_short_board(f"b{n}", 20 + n) for n in range(7))
    plan = select(Stock(boards), two)
    assert {cut.id for cut in plan.boards} == {"b0", "b1", "b2", "b3"}
    found = plan_again(plan, Stock(boards), lost=[("top", 0), ("second", 1)])
    assert found.reach is Reach.REPLACED
    assert (found.added, found.moved, len(found.kept)) == (("b4", "b5"), 0, 2)
    assert found.adds == Decimal(24 + 25 + 8)
    assert check_plan(found.plan, found.stock) == ()


def test_where_no_board_can_stay_others_come_in(stock):
    wet = tuple(replace(board, moisture_pct=8.5) for board in stock.boards[:2])
    dry = tuple(replace(board, moisture_pct=13.5) for board in stock.boards[2:])
    mixed = replace(stock, boards=(*wet, *dry))
    plan = select(mixed, JOB)
    assert {cut.id for cut in plan.boards} == {"b0", "b1"}
    # The readings are 5 % apart and may be 2, so b1 cannot stand beside b2 or b3.
    found = plan_again(plan, mixed, gone=["b0"], seconds=10)
    assert found.reach is Reach.EXCHANGED
    assert {cut.id for cut in found.plan.boards} == {"b2", "b3"}
    assert (found.dropped, found.adds) == (("b1",), Decimal(14))


def test_an_offcut_that_the_plan_leaves_is_used_before_another_board():
    panel = a_panel(
        length_mm=1000,
        width_mm=200,
        staves_min=2,
        staves_max=2,
        stave_width_min_mm=100,
        stave_width_max_mm=100,
    )
    # One board of 2400 x 220 gives both staves side by side and leaves an offcut of more than a metre.
    stock = Stock((a_board(id="wide", width_mm=220), a_board(id="other", width_mm=220, value=Decimal(90))))
    plan = select(stock, a_job(panel))
    assert [cut.id for cut in plan.boards] == ["wide"]
    found = plan_again(plan, stock, lost=[("top", 0)])
    (added,) = found.added
    assert added.startswith("wide, offcut")
    assert found.adds > 0


def test_a_flaw_in_a_sound_stave_goes_along_with_it():
    stock = Stock(tuple(a_short_board(f"b{n}", 20 + n, veins=n % 2) for n in range(4)))
    plan = select(stock, JOB)
    (lost,) = [lost_of(plan, cut.id) for cut in plan.boards if cut.id == "b0"]
    found = plan_again(plan, stock, lost=[lost], gone=())
    kinds = {blank.parent: len(blank.board.defects) for blank in found.kept}
    assert kinds == {name: len(next(b for b in stock.boards if b.id == name).defects) for name in kinds}


def test_a_bent_board_s_stave_is_not_straightened_twice():
    bent = replace(
        a_short_board("b0", 5), width_mm=112, distortion=replace(a_board().distortion, spring_mm=4)
    )
    stock = Stock((bent, a_short_board("b1", 20), a_short_board("b2", 30)))
    plan = select(stock, JOB)
    assert {cut.id for cut in plan.boards} == {"b0", "b1"}
    found = plan_again(plan, stock, lost=[lost_of(plan, "b1")])
    (kept,) = found.kept
    # 4 x (420 / 460)^2 is 3.33, rounded up 4, of the rough width; the blank is what is left.
    assert kept.board.width_mm == 108
    assert kept.board.distortion.spring_mm == 0
    assert kept.board.heart_face in (None, Face.A, Face.B)


def test_nothing_to_be_had_is_said_so(plan):
    only = Stock(tuple(a_short_board(f"b{n}", value) for n, value in enumerate((20, 21))))
    assert plan_again(plan, only, lost=[("top", 0)], seconds=3) is None


def test_what_the_plan_does_not_have_cannot_be_lost(plan, stock):
    with pytest.raises(BadInput) as caught:
        plan_again(plan, stock, lost=[("top", 7), ("side", 0)], gone=["b9"])
    assert len(caught.value.faults) == 3
    with pytest.raises(BadInput):
        plan_again(plan, stock)
