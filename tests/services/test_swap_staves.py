"""Two staves change places: the plan is counted anew by the rules, lawful or refused."""

import json
from decimal import Decimal

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.selection import read_stock
from stockyard.selection.check import check_plan, cost_of
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.jobs import add_job
from stockyard.services.plan_job import plan_job, show_plan
from stockyard.services.swap_staves import swap_staves
from stockyard.timber.booked_plan import PlanStatus
from tests.services.yards import receive

JOB = {
    "format": "stockyard.job/1",
    "id": "shelf",
    "moisture": {"unread": "allow"},
    "panels": [
        {"id": "top", "length": 800, "width": 400, "thickness": 24, "species": ["spotted gum"],
         "staves": {"min": 4, "max": 4}, "stave_width": {"min": 100, "max": 100}}
    ],
}  # fmt: skip


@pytest.fixture
def planned(sqlite_yard: Yard) -> Yard:
    """A yard with plan 1, whose panel has four staves 100 mm wide, two from each of two boards."""
    receive(sqlite_yard, "spotted gum,2400,180,32,48.00", "spotted gum,3000,150,32,51.00")
    add_job(sqlite_yard.open_work, json.dumps(JOB).encode())
    plan_job(sqlite_yard.open_work, "shelf", seconds=6)
    return sqlite_yard


@pytest.mark.parametrize("pair", [(0, 1), (1, 2), (0, 3), (3, 2)])
def test_two_staves_change_places_and_the_plan_stays_lawful(planned: Yard, pair: tuple[int, int]) -> None:
    before = show_plan(planned.open_work, 1)
    was = [(stave.board, stave.finished.x0) for stave in before.plan.panels[0].staves]

    swapped = swap_staves(planned.open_work, 1, "top", *pair)

    after = show_plan(planned.open_work, swapped.number)
    now = [(stave.board, stave.finished.x0) for stave in after.plan.panels[0].staves]
    was[pair[0]], was[pair[1]] = was[pair[1]], was[pair[0]]
    assert now == was
    stock = read_stock(dict(swapped.stock))
    assert check_plan(after.plan, stock) == ()
    assert float(cost_of(after.plan, stock).total) == pytest.approx(float(after.plan.cost), abs=1e-5)
    assert after.plan.bound == before.plan.bound <= after.plan.cost
    assert (swapped.status, swapped.seen) == (PlanStatus.PROPOSED, before.booked.seen)
    assert show_plan(planned.open_work, 1).booked.document == before.booked.document


def test_outer_edges_are_trimmed_and_inner_ones_jointed_after_it(planned: Yard) -> None:
    swapped = swap_staves(planned.open_work, 1, "top", 0, 1)
    first, second, *_ = show_plan(planned.open_work, swapped.number).plan.panels[0].staves
    # Section 3 of the definition: 5 mm are left on an outer edge, 3 mm on a glued one.
    assert first.rough.width_mm == 100 + 5 + 3
    assert second.rough.width_mm == 100 + 3 + 3


def test_a_swapped_plan_is_promised_and_cut_like_any_other(planned: Yard) -> None:
    swapped = swap_staves(planned.open_work, 1, "top", 1, 2)
    allocate_plan(planned.open_work, swapped.number)
    record = cut_plan(planned.open_work, swapped.number)
    assert sum((piece.value for piece in record.pieces), Decimal(0)) == record.value_in


def test_places_a_panel_has_not_are_refused(planned: Yard) -> None:
    for pair in ((0, 4), (1, 1), (-1, 0)):
        with pytest.raises(BadInput, match="cannot change places"):
            swap_staves(planned.open_work, 1, "top", *pair)
    with pytest.raises(NotFound):
        swap_staves(planned.open_work, 1, "side", 0, 1)
    with pytest.raises(NotFound):
        swap_staves(planned.open_work, 9, "top", 0, 1)


def test_a_plan_of_a_job_that_changed_is_not_swapped(planned: Yard) -> None:
    add_job(planned.open_work, json.dumps(JOB | {"rings": "same"}).encode())
    with pytest.raises(Refused, match="has changed since plan 1"):
        swap_staves(planned.open_work, 1, "top", 0, 1)


def test_where_there_is_no_room_for_another_edge_the_swap_is_refused(sqlite_yard: Yard) -> None:
    """One board just wide enough for an inner stave: 3 mm to joint on each edge, and none to spare."""
    receive(
        sqlite_yard,
        "spotted gum,900,106,32,20.00",
        "spotted gum,900,120,32,20.00",
        "spotted gum,900,120,32,20.00",
    )
    panel = JOB["panels"][0] | {"width": 300, "staves": {"min": 3, "max": 3}}  # type: ignore[index]
    add_job(sqlite_yard.open_work, json.dumps(JOB | {"panels": [panel]}).encode())
    plan = plan_job(sqlite_yard.open_work, "shelf", seconds=6).plan
    assert plan.panels[0].staves[1].board == "SG-0001"
    with pytest.raises(Refused, match="cannot change places as they are cut"):
        swap_staves(sqlite_yard.open_work, 1, "top", 0, 1)
