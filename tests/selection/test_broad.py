"""The search for large stocks, held to the exact one and to trying everything where those can be had.

It must never make a plan that is unlawful, cheaper than the cheapest, or dearer than it says; and its bound
must never be above what the panels can be made for, at whatever prices it is taken.
"""

import random
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from time import monotonic

import numpy as np
import pytest

from stockyard.selection import check_plan, search, select
from stockyard.selection.broad import Broad
from stockyard.selection.cells import fits
from stockyard.selection.instance import Instance, as_whole
from stockyard.selection.relaxation import Prices, groups_of
from stockyard.selection.survey import Survey, shapes_of
from stockyard.timber import Job, Plan, Status, Stock
from tests.figures.by_hand import cheapest_first
from tests.figures.stocks import a_stock, bench_and_sides
from tests.selection.random_instances import an_instance

SEEDS = range(100)
TOGETHER = 25


@pytest.fixture
def always_broad(monkeypatch: pytest.MonkeyPatch) -> None:
    """However small the stock, it is searched as a large one."""
    monkeypatch.setattr(search, "_small", lambda instance, ways: False)


def broadly(stock: Stock, job: Job, monkeypatch: pytest.MonkeyPatch) -> Plan:
    with monkeypatch.context() as patched:
        patched.setattr(search, "_small", lambda instance, ways: False)
        return select(stock, job, seconds=20)


def made(plan: Plan) -> set[str]:
    return {panel.id for panel in plan.panels if panel.made}


@pytest.mark.parametrize("first", range(0, len(SEEDS), TOGETHER))
def test_plan_and_bound_stand_on_either_side_of_the_best(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = []
    for seed in range(first, first + TOGETHER):
        job, stock = an_instance(seed)
        broad = broadly(stock, job, monkeypatch)
        if check_plan(broad, stock):
            wrong.append((seed, "unlawful"))
        if broad.status is Status.OPTIMAL:
            best = select(stock, job, seconds=30)
            if abs(broad.cost - best.cost) > Decimal("0.00001") or made(broad) != made(best):
                wrong.append((seed, f"called best at {broad.cost}, not {best.cost}"))
        if not made(broad):
            continue
        # The best that can be made of just the panels it makes.
        just = replace(job, panels=tuple(panel for panel in job.panels if panel.id in made(broad)))
        best = select(stock, just, seconds=30)
        assert best.status is Status.OPTIMAL
        if not broad.bound <= best.cost + Decimal("0.000005"):
            wrong.append((seed, f"bound {broad.bound} above the best, {best.cost}"))
        if not best.cost <= broad.cost + Decimal("0.000005"):
            wrong.append((seed, f"cost {broad.cost} below the best, {best.cost}"))
    assert wrong == []


def bound_at(instance: Instance, draw: Callable[[float, float], float]) -> float:
    """What the panels pay at prices drawn, less what each board could earn."""
    shapes = shapes_of(instance.demands)
    groups = groups_of(instance, instance.demands, shapes)
    prices = Prices(
        np.array([[draw(-2, 4) for _ in range(3)] for _ in groups]),
        np.array([draw(0, 1.5) for _ in groups]),
        {},
    )
    lines = prices.lines(groups, shapes)
    surveys = [Survey(instance, timber, shapes) for timber in instance.timbers]
    least = [survey.best(lines).excess for survey in surveys if not survey.empty]
    return sum(len(g.demands) * prices.asked(g) for g in groups) + sum(min(0.0, excess) for excess in least)


@pytest.mark.parametrize("first", range(0, 75, TOGETHER))
def test_the_bound_holds_at_any_prices(first: int) -> None:
    wrong = []
    for seed in range(first, first + TOGETHER):
        job, stock = an_instance(seed)
        best = select(stock, job, seconds=30)
        if not all(panel.made for panel in best.panels):
            continue
        draw = random.Random(seed).uniform
        bounds = [bound_at(as_whole(stock, job), draw) for _ in range(20)]
        if max(bounds) > float(best.cost) + 1e-6:
            wrong.append((seed, max(bounds), float(best.cost)))
    assert wrong == []


def test_a_yard_of_sixty_boards_is_planned_better_than_by_hand() -> None:
    stock, job = a_stock(60, 2), bench_and_sides()
    plan = select(stock, job, seconds=10)
    by_hand = cheapest_first(stock.boards, job)
    assert check_plan(plan, stock) == ()
    assert made(plan) == {panel.id for panel in job.panels}
    assert by_hand is not None
    assert plan.cost_parts.timber < by_hand
    assert 0 < plan.bound <= plan.cost


def test_the_time_given_is_kept() -> None:
    stock, job = a_stock(200, 5), bench_and_sides()
    select(a_stock(8, 5), job, seconds=1)  # whatever has to be compiled is compiled now
    began = monotonic()
    plan = select(stock, job, seconds=6)
    # Half as much again for a machine that is busy with other things; the figures hold it closer.
    assert monotonic() - began < 9
    assert plan.seconds < 9


def test_stopping_keeps_what_was_found() -> None:
    stock, job = a_stock(60, 2), bench_and_sides()
    plan = select(stock, job, seconds=20, on_progress=lambda progress: progress.best is not None)
    assert made(plan)
    assert check_plan(plan, stock) == ()


@pytest.mark.usefixtures("always_broad")
def test_a_panel_no_board_can_serve_is_proved_impossible() -> None:
    stock = Stock(tuple(replace(board, species="karri") for board in a_stock(5, 1).boards))
    plan = select(stock, bench_and_sides(), seconds=5)
    assert plan.status is Status.INFEASIBLE
    assert all(panel.why for panel in plan.panels)


def test_broad_says_nothing_of_a_bound_it_had_no_time_for() -> None:
    stock, job = a_stock(60, 1), bench_and_sides()
    instance = as_whole(stock, job)
    ways = {
        t.index: tuple(f for d in instance.demands for f in fits(instance, t, d)) for t in instance.timbers
    }
    found = Broad(instance, ways, monotonic() + 0.02, lambda best, bound: False).search()
    assert found.bound >= 0
    assert not found.proved


def test_a_plan_to_begin_from_is_what_the_search_begins_with() -> None:
    stock, job = a_stock(60, 2), bench_and_sides()
    first = select(stock, job, seconds=10)
    seen: list[float | None] = []
    again = select(stock, job, seconds=4, start=first, on_progress=lambda p: seen.append(p.best))
    assert seen[0] == pytest.approx(float(first.cost))
    assert again.cost <= first.cost
    assert check_plan(again, stock) == ()
