"""Selections small enough to work out by hand, and the promises every selection keeps."""

from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.selection import check_plan, select
from stockyard.timber import Costs, Face, Rings, Status, Stock
from tests.builders import a_board, a_job, a_panel
from tests.selection.random_instances import an_instance

LONE = a_panel(length_mm=1000, width_mm=100, staves_min=1, staves_max=1)


def test_one_stave_from_the_cheaper_of_two_boards():
    stock = Stock((a_board(id="dear"), a_board(id="cheap", value=Decimal("40.00"))))
    plan = select(stock, a_job(LONE))
    assert plan.status is Status.OPTIMAL
    assert [cut.id for cut in plan.boards] == ["cheap"]
    # The section is 1020 long; all but it and one kerf of length go back, and the strip beside it of
    # 180 - 110 - 3 = 67 mm: half of 40.00 for (2400 - 1020 - 20 - 3) x 180 + 1020 x 67 of 2400 x 180 mm2 if
    # docked at 20, where 17 mm at the end are too short to keep. Nothing is better: docking at 303 leaves
    # 300 and 1074, together 1374.
    area = 1374 * 180 + 1020 * 67
    assert float(plan.cost) == pytest.approx(44 - 20 * area / (2400 * 180), abs=1e-6)


def test_a_panel_no_board_can_make_is_infeasible_and_says_why():
    plan = select(Stock((a_board(species="jarrah"),)), a_job(LONE))
    assert plan.status is Status.INFEASIBLE
    assert plan.panels[0].why
    assert [reason.why for reason in plan.rejected[0].reasons] == ["species"]


def test_a_reserved_board_is_left_alone_and_named():
    stock = Stock((a_board(),), reserved={"SG-0001": "promised to plan 12"})
    plan = select(stock, a_job(LONE))
    assert plan.status is Status.INFEASIBLE
    assert plan.rejected[0].reasons[0].detail == "promised to plan 12"


def test_the_panel_of_higher_priority_is_made_when_there_is_wood_for_one():
    first = replace(LONE, id="first", priority=2, length_mm=2000)
    second = replace(LONE, id="second", priority=1, length_mm=2000)
    plan = select(Stock((a_board(width_mm=120),)), a_job(first, second))
    assert [panel.made for panel in plan.panels] == [False, True]
    assert plan.status is Status.OPTIMAL


def test_hearts_alternate_where_that_costs_less_than_breaking_the_rule():
    boards = tuple(a_board(id=f"b{n}", heart_face=Face.A) for n in range(2))
    panel = a_panel(width_mm=300, staves_min=2, staves_max=2)
    plan = select(Stock(boards), a_job(panel, rings=Rings.ALTERNATE))
    shown = [stave.show for stave in plan.panels[0].staves]
    assert set(shown) == {Face.A, Face.B}
    assert plan.cost_parts.rings == 0


def test_the_first_and_last_stave_keep_the_outer_trim_outside():
    plan = select(Stock((a_board(id="a"), a_board(id="b"))), a_job(a_panel(width_mm=300, staves_max=2)))
    assert check_plan(plan, Stock((a_board(id="a"), a_board(id="b")))) == ()


def test_the_same_input_gives_the_same_plan():
    job, stock = an_instance(3)
    assert replace(select(stock, job), seconds=0) == replace(select(stock, job), seconds=0)


def test_doubling_all_money_doubles_the_cost():
    stock = Stock((a_board(),))
    twice = Stock((a_board(value=Decimal("96.00")),))
    dear = a_job(LONE, costs=Costs(handling=Decimal(8)))
    assert select(twice, dear).cost == pytest.approx(2 * select(stock, a_job(LONE)).cost)


def test_progress_is_told_and_a_plan_to_begin_from_is_never_made_worse():
    job, stock = an_instance(4)
    seen = []
    plan = select(stock, job, on_progress=seen.append)
    assert seen
    assert select(stock, job, start=plan).cost == plan.cost


def test_importing_the_room_loads_no_heavy_library():
    import subprocess
    import sys

    code = (
        "import sys, stockyard.selection;"
        "sys.exit(any(m in sys.modules for m in ('numpy', 'highspy', 'numba', 'ortools')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
