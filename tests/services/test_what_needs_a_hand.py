"""The day's list and the shelves, from either database."""

import pytest

from stockyard.records import Yard
from stockyard.services.jobs import add_job
from stockyard.services.look_along_rack import look_along_rack
from stockyard.services.look_at_shelves import look_at_shelves
from stockyard.services.plan_job import plan_job
from stockyard.services.what_needs_a_hand import what_needs_a_hand
from stockyard.timber.rack_query import RackOrder, RackQuery
from tests.services.yards import receive

JOB = b"""{"format": "stockyard.job/1", "id": "shelf", "moisture": {"unread": "allow"}, "panels": [
  {"id": "top", "length": 1200, "width": 300, "thickness": 24, "species": ["jarrah"],
   "staves": {"min": 2, "max": 4}, "stave_width": {"min": 70, "max": 160}, "show": "one", "priority": 1}]}"""


def test_an_empty_yard_needs_nothing(yard: Yard) -> None:
    today = what_needs_a_hand(yard.open_work)
    assert (today.stock.pieces, today.bare, today.unread, dict(today.suggested)) == (0, 0, 0, {})
    assert look_at_shelves(yard.open_work).shelves == ()


def test_plans_boards_to_photograph_and_shelves_are_told(yard: Yard) -> None:
    receive(yard, *["jarrah,2400,180,32,48.00"] * 3, place="rack 1")
    receive(yard, "jarrah,1200,90,25,9.00", docket="2", place="rack 2")
    add_job(yard.open_work, JOB)
    kept = plan_job(yard.open_work, "shelf", seconds=5)

    today = what_needs_a_hand(yard.open_work)
    assert [(plan.number, plan.job, dict(plan.seen)) for plan in today.proposed] == [
        (1, "shelf", dict(kept.booked.seen))
    ]
    assert (today.bare, today.unread) == (4, 4)

    first, second = look_at_shelves(yard.open_work).shelves
    assert (first.place, first.totals.pieces, len(first.sizes_mm)) == ("rack 1", 3, 3)
    assert (second.place, second.sizes_mm) == ("rack 2", ((90.0, 25.0),))
    assert [each.place for each in look_at_shelves(yard.open_work, after="rack 1").shelves] == ["rack 2"]


@pytest.mark.parametrize("query", [RackQuery(), RackQuery(words=("rack",)), RackQuery(species=("jarrah",))])
def test_totals_are_the_same_however_they_are_asked_for(yard: Yard, query: RackQuery) -> None:
    receive(yard, "jarrah,2000,100,25,20.00", "jarrah,1000,100,50,30.00")
    page = look_along_rack(yard.open_work, query, RackOrder.NUMBER)
    assert page.totals is not None
    # 2000 x 100 x 25 + 1000 x 100 x 50 mm
    assert (page.totals.pieces, page.totals.volume_mm3, page.totals.length_mm) == (2, 10_000_000, 3000)
    assert str(page.totals.value) == "50.00"
