"""What a person asks beyond the rules: kept by every plan, counted in the choice, never in its cost."""

from dataclasses import replace
from decimal import Decimal

import pytest

from stockyard.errors import BadInput
from stockyard.selection import Wishes, check_plan, select
from stockyard.timber import Status, Stock
from tests.builders import a_board, a_job, a_panel
from tests.selection.brute_force import best_selection
from tests.selection.random_instances import an_instance

LONE = a_panel(length_mm=1000, width_mm=100, staves_min=1, staves_max=1)
DEAR, CHEAP = a_board(id="dear"), a_board(id="cheap", value=Decimal("40.00"))
BOTH = Stock((DEAR, CHEAP))


@pytest.mark.parametrize(
    "wishes",
    [
        Wishes(forbid=frozenset({"cheap"})),
        Wishes(extra={"cheap": Decimal(20)}),
        Wishes(extra={"dear": Decimal(-20)}),
        Wishes(must=frozenset({("dear", LONE.id)})),
    ],
)
def test_a_wish_brings_in_the_other_board_at_its_true_cost(wishes):
    plan, without = select(BOTH, a_job(LONE), wishes=wishes), select(Stock((DEAR,)), a_job(LONE))
    assert [cut.id for cut in plan.boards] == ["dear"]
    assert abs(plan.cost - without.cost) < Decimal("0.01")
    assert plan.bound <= plan.cost
    assert check_plan(plan, BOTH) == ()
    assert wishes.kept_by(plan)


def test_a_forbidden_board_says_so():
    plan = select(Stock((CHEAP,)), a_job(LONE), wishes=Wishes(forbid=frozenset({"cheap"})))
    assert plan.status is Status.INFEASIBLE
    assert plan.rejected[0].reasons[0].why == "forbidden"


def test_a_panel_whose_board_cannot_serve_it_stays_unmade():
    wishes = Wishes(must=frozenset({("short", LONE.id)}))
    plan = select(Stock((CHEAP, a_board(id="short", length_mm=500))), a_job(LONE), wishes=wishes)
    assert not plan.panels[0].made


def test_a_wish_for_what_is_not_there_is_refused_naming_all_of_it():
    wishes = Wishes(must=frozenset({("nowhere", "no panel")}), extra={"cheap": Decimal("NaN")})
    with pytest.raises(BadInput) as refused:
        select(BOTH, a_job(LONE), wishes=wishes)
    assert len(refused.value.faults) == 3


def test_a_plan_to_begin_from_that_breaks_a_wish_is_not_used():
    first = select(BOTH, a_job(LONE))
    again = select(BOTH, a_job(LONE), start=first, wishes=Wishes(forbid=frozenset({"cheap"})))
    assert [cut.id for cut in again.boards] == ["dear"]


@pytest.mark.parametrize("seed", range(0, 120, 3))
def test_forbidding_a_board_or_pricing_it_out_leaves_the_best_without_it(seed):
    job, stock = an_instance(seed)
    left_out = stock.boards[0].id
    fewer = replace(stock, boards=stock.boards[1:])
    best = best_selection(job, fewer)
    plan = select(stock, job, wishes=Wishes(forbid=frozenset({left_out})))
    assert check_plan(plan, stock) == ()
    assert (best.cost is None) == (plan.status is Status.INFEASIBLE)
    if best.cost is not None:
        assert abs(float(plan.cost) - best.cost) < 5e-6
    # An extra beyond everything else forbids too, where fewer panels need not be made for it.
    priced = select(stock, job, wishes=Wishes(extra={left_out: Decimal(500)}))
    if {p.id for p in priced.panels if p.made} == {p.id for p in plan.panels if p.made}:
        assert abs(priced.cost - plan.cost) < Decimal("0.00001")
