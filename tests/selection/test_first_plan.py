"""A first plan is lawful, there at once, and no dearer than a person's."""

from dataclasses import replace
from itertools import product
from math import inf
from time import monotonic

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.selection import Wishes, check_plan, select
from stockyard.selection.first_plan import FirstPlan
from stockyard.selection.firstkernels import chosen_widths
from stockyard.selection.instance import Instance, Timber, as_whole
from stockyard.selection.piecemeal import panels_of
from stockyard.selection.result import counted_cost, put_together
from stockyard.selection.ways import Ways
from stockyard.timber import Job, Stock
from tests.figures.by_hand import cheapest_first
from tests.figures.stocks import a_stock, bench_and_sides, many_panels


def _planned(stock: Stock, job: Job, wishes: Wishes | None = None) -> tuple[set[int], float, set[str]]:
    instance = as_whole(stock, job, wishes or Wishes())
    docked = FirstPlan(instance, Ways(instance), monotonic() + 60).plan(instance.demands)
    cutting = put_together(instance, docked)
    boards = {cut.id for cut in cutting.boards}
    return panels_of(docked), float(cutting.cost_parts.total), boards


@pytest.mark.parametrize("seed", [11, 12, 13, 14])
def test_every_panel_is_made_for_less_than_the_boards_a_person_would_cut(seed: int) -> None:
    stock, job = a_stock(300, seed), bench_and_sides()
    made, cost, boards = _planned(stock, job)
    assert made == set(range(len(job.panels)))
    by_hand = cheapest_first(stock.boards, job)
    value = sum(board.value for board in stock.boards if board.id in boards)
    assert by_hand is None or value <= by_hand
    assert cost > 0


def test_a_dozen_mixed_panels_all_come_out() -> None:
    made, _, _ = _planned(a_stock(300, 15), many_panels(12))
    assert made == set(range(12))


@pytest.mark.parametrize("seed", [21, 22, 23])
def test_even_a_search_given_no_time_ends_with_a_lawful_plan(seed: int) -> None:
    stock, job = a_stock(300, seed), bench_and_sides(rings=seed % 2 == 0)
    plan = select(stock, job, seconds=0.2)
    assert check_plan(plan, stock) == ()
    assert any(panel.made for panel in plan.panels)
    assert plan.bound <= plan.cost


def test_a_board_that_must_be_used_is_used_and_a_forbidden_one_left() -> None:
    stock, job = a_stock(200, 31), bench_and_sides()
    _, _, before = _planned(stock, job)
    left = min(before)
    _, _, boards = _planned(stock, job, Wishes(forbid=frozenset({left})))
    assert left not in boards
    able = [b for b in stock.boards if b.id not in before and b.length_mm > 2000 and b.width_mm > 170]
    instance = as_whole(stock, job)
    dry = [
        b for b in able if b.species in job.panels[0].species and instance.in_reach(_timber(instance, b.id))
    ]
    used = 0
    for board in dry[:8]:
        wishes = Wishes(must=frozenset({(board.id, job.panels[0].id)}))
        made, _, boards = _planned(stock, job, wishes)
        assert 0 not in made or board.id in boards
        used += 0 in made
    assert used


def _timber(instance: Instance, id_: str) -> Timber:
    return next(timber for timber in instance.timbers if timber.board.id == id_)


def test_staves_of_a_panel_dried_alike() -> None:
    stock = a_stock(300, 16)
    job = bench_and_sides()
    job = replace(job, moisture=replace(job.moisture, spread_pct=0.3))
    instance = as_whole(stock, job)
    docked = FirstPlan(instance, Ways(instance), monotonic() + 60).plan(instance.demands)
    assert docked
    for panel in panels_of(docked):
        readings = [
            moisture
            for section in docked
            if panel in panels_of([section])
            and (moisture := instance.timbers[section.timber].moisture) is not None
        ]
        assert not readings or max(readings) - min(readings) <= 0.3


def test_making_panels_anew_together_betters_a_plan_and_loses_none() -> None:
    instance = as_whole(a_stock(200, 17), many_panels(8))
    first = FirstPlan(instance, Ways(instance), monotonic() + 60)
    docked = first.plan(instance.demands)
    turns = iter(range(25))
    told: list[float] = []
    better = first.better(
        docked, lambda new: told.append(counted_cost(instance, new)), lambda: next(turns, None) is not None
    )
    assert panels_of(better) >= panels_of(docked)
    assert told
    assert told == sorted(told, reverse=True)
    assert counted_cost(instance, better) == told[-1] < counted_cost(instance, docked)


@given(st.data())
def test_the_choice_of_boards_is_the_cheapest_there_is(data: st.DataObject) -> None:
    sections = st.tuples(st.integers(1, 2), st.integers(1, 9), st.integers(0, 20))
    boards = data.draw(st.lists(st.lists(sections, max_size=3), min_size=1, max_size=4))
    musts = data.draw(st.lists(st.booleans(), min_size=len(boards), max_size=len(boards)))
    most, width = data.draw(st.integers(1, 4)), data.draw(st.integers(1, 15))
    flat = [section for board in boards for section in board]
    costs, _, _ = chosen_widths(
        np.cumsum([0, *map(len, boards)]),
        np.array([s[0] for s in flat], dtype=np.int64),
        np.array([s[1] for s in flat], dtype=np.int64),
        np.array([float(s[2]) for s in flat]),
        np.array(musts),
        most,
        width,
    )
    least = [inf] * (most + 1)
    for taken in product(
        *([*board] if must else [None, *board] for board, must in zip(boards, musts, strict=True))
    ):
        chosen = [section for section in taken if section is not None]
        staves = sum(s[0] for s in chosen)
        if staves <= most and sum(s[1] for s in chosen) >= width:
            least[staves] = min(least[staves], sum(s[2] for s in chosen))
    assert costs.tolist() == least
