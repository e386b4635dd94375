"""The answers asked of a yard: what it knows of days, suppliers and losses goes into them."""

import json
from datetime import date
from typing import Any

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.selection import check_plan, read_stock
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.ask_why import why_board, why_panel
from stockyard.services.choose_plans import choose_plans_in_yard, documents_of
from stockyard.services.cut_plan import cut_plan
from stockyard.services.jobs import add_job
from stockyard.services.plan_again import plan_again_from_files, plan_again_in_yard
from stockyard.services.plan_job import list_plans, plan_job, show_plan
from stockyard.services.price_list import read_price_list
from stockyard.services.problem import Asked, problem_from_files, problem_in_yard, wishes_of
from stockyard.services.put_aside import LossHistory, losses_before, put_aside
from stockyard.services.rank_boards import rank_boards
from stockyard.services.read_moisture import add_reading
from stockyard.services.select_from_files import select_from_files
from stockyard.services.what_to_buy import bought_before, what_to_buy
from stockyard.timber.booked_plan import PlanStatus
from tests.services.yards import receive

SHELF: dict[str, Any] = {
    "format": "stockyard.job/1",
    "id": "hall-shelf",
    "panels": [
        {
            "id": "shelf", "length": 900, "width": 240, "thickness": 24, "species": ["spotted gum"],
            "staves": {"min": 2, "max": 2}, "stave_width": {"min": 120, "max": 120}, "show": "one",
            "priority": 1,
        }
    ],
}  # fmt: skip


@pytest.fixture
def ready(yard: Yard) -> Yard:
    """Five boards of one stave each, from two deliveries, and one job for two of them."""
    receive(yard, "spotted gum,970,130,32,40.00", "spotted gum,970,130,32,41.00", docket="1")
    rows = ("spotted gum,970,130,32,50.00", "spotted gum,970,130,32,51.00", "spotted gum,950,130,32,20.00")
    receive(yard, *rows, docket="2", day=date(2025, 3, 3))
    for number in range(1, 6):
        add_reading(yard.open_work, f"SG-000{number}", 11, meter="ovendry")
    add_job(yard.open_work, json.dumps(SHELF).encode())
    return yard


def test_choices_are_kept_as_plans_and_older_boards_cost_more(ready: Yard) -> None:
    kept = choose_plans_in_yard(ready.open_work, "hall-shelf", 2, seconds=20)
    first, second = kept.choices.choices
    assert {cut.id for cut in first.plan.boards} == {"SG-0001", "SG-0002"}
    assert {cut.id for cut in second.plan.boards} == {"SG-0003", "SG-0004"}
    assert "oldest stock first" in second.aims
    assert float(second.more) == pytest.approx(20)
    assert [each.number for each in list_plans(ready.open_work, "hall-shelf")] == list(kept.numbers)
    assert show_plan(ready.open_work, kept.numbers[1]).plan.cost == second.plan.cost
    assert [each["document"]["job"] for each in documents_of(kept.choices, kept.problem)] == [
        "hall-shelf"
    ] * 2


def test_a_plan_keeps_to_what_is_asked(ready: Yard) -> None:
    asked = Asked(pin=("SG-0003:shelf",), forbid=("SG-0001",), prefer=("SG-0004=30",))
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20, asked=asked)
    assert {cut.id for cut in kept.plan.boards} == {"SG-0003", "SG-0004"}
    assert float(kept.plan.cost) == pytest.approx(50 + 51 + 8)


def test_wishes_that_cannot_be_meant_are_all_told(ready: Yard) -> None:
    problem = problem_in_yard(ready.open_work, "hall-shelf")
    asked = Asked(pin=("SG-0001", "SG-0001:top"), forbid=("X",), prefer=("SG-0001=-4", "SG-0009"))
    with pytest.raises(BadInput) as caught:
        wishes_of(problem, asked)
    assert [fault.where for fault in caught.value.faults] == ["pin", "pin", "forbid", "prefer", "prefer"]
    with pytest.raises(BadInput):
        wishes_of(problem, Asked(pin=("SG-0001:shelf",), forbid=("SG-0001",)))


def test_why_a_board_is_out_is_asked_of_the_rack(ready: Yard) -> None:
    problem = problem_in_yard(ready.open_work, "hall-shelf")
    (found,) = why_board(problem, "SG-0005")
    assert [obstacle.why for obstacle in found.obstacles] == ["length"]
    # 900 + 2 x 10 between ends of 20 mm is 960.
    assert found.remedies[0].changes[0].detail == "10 mm too short"
    assert why_panel(problem, "shelf", seconds=10) is None
    with pytest.raises(NotFound):
        why_board(problem, "SG-0099")
    with pytest.raises(NotFound):
        why_panel(problem, "top")


def test_boards_are_ranked_by_what_using_them_adds(ready: Yard) -> None:
    found = rank_boards(problem_in_yard(ready.open_work, "hall-shelf"), "shelf", seconds=20)
    added = {each.board: round(float(each.adds or 0), 2) for each in found.suited}
    assert added == {"SG-0001": 0, "SG-0002": 0, "SG-0003": 9, "SG-0004": 10}
    assert [each.board for each in found.unsuited] == ["SG-0005"]


def test_a_cut_plan_is_made_again_from_its_sound_staves(ready: Yard) -> None:
    number = plan_job(ready.open_work, "hall-shelf", seconds=20).booked.number
    allocate_plan(ready.open_work, number)
    cut_plan(ready.open_work, number, spoiled={("shelf", 1)})
    kept = plan_again_in_yard(ready.open_work, number, seconds=20)
    assert kept.again.added == ("SG-0003",)
    assert float(kept.again.adds) == pytest.approx(54)
    again = show_plan(ready.open_work, kept.number)
    # Only the new board is to be cut; the sound stave stands in the panel under its own number.
    assert [cut.id for cut in again.plan.boards] == ["SG-0003"]
    boards = {stave.board for stave in again.plan.panels[0].staves}
    assert len(boards) == 2
    assert "SG-0003" in boards
    allocate_plan(ready.open_work, kept.number)
    record = cut_plan(ready.open_work, kept.number)
    assert len(record.staves) == 1
    assert record.staves[0].parent == "SG-0003"


def test_a_plan_not_cut_yet_is_made_again_without_a_board(ready: Yard) -> None:
    number = plan_job(ready.open_work, "hall-shelf", seconds=20).booked.number
    allocate_plan(ready.open_work, number)
    kept = plan_again_in_yard(ready.open_work, number, without=["SG-0002"], seconds=20)
    assert {cut.id for cut in kept.again.plan.boards} == {"SG-0001", "SG-0003"}
    assert show_plan(ready.open_work, kept.number).booked.status is PlanStatus.PROPOSED
    with pytest.raises(Refused):
        plan_again_in_yard(ready.open_work, number, spoiled=[("shelf", 0)], seconds=5)


def test_files_give_the_same_answers(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    stock, job = json.dumps(dict(kept.booked.stock)).encode(), json.dumps(SHELF).encode()
    plan = json.dumps(dict(kept.booked.document)).encode()
    again = plan_again_from_files(plan, stock, job, spoiled=[("shelf", 0)], seconds=20)
    assert again.added == ("SG-0003",)
    assert check_plan(again.plan, again.stock) == ()
    chosen, _, _ = select_from_files(stock, job, seconds=20, asked=Asked(forbid=("SG-0001",)))
    assert "SG-0001" not in {cut.id for cut in chosen.boards}
    problem = problem_from_files(stock, job)
    assert [each.board for each in rank_boards(problem, "shelf", seconds=20).unsuited] == ["SG-0005"]
    few = json.dumps(dict(kept.booked.stock) | {"boards": kept.booked.stock["boards"][:2]}).encode()
    assert len(read_stock(few).boards) == 2
    with pytest.raises(Refused):
        plan_again_from_files(plan, few, job, spoiled=[("shelf", 0)], seconds=3)


def test_staves_lost_before_raise_the_chance_for_that_supplier(ready: Yard) -> None:
    assert losses_before(ready.open_work) == LossHistory({}, {})
    number = plan_job(ready.open_work, "hall-shelf", seconds=20).booked.number
    allocate_plan(ready.open_work, number)
    cut_plan(ready.open_work, number, spoiled={("shelf", 1)})
    history = losses_before(ready.open_work)
    key = ("spotted gum", "Riverbend Mill")
    assert (history.cut[key], history.lost[key]) == (2, 1)
    # The usual 3 % speaks for 20 staves: (1 + 0.6) / 22, and that for 20 beside the supplier's own two.
    assert history.chance(*key) == pytest.approx((1 + 20 * (1 + 0.6) / 22) / 22)
    assert history.chance("spotted gum", "another") == pytest.approx((1 + 0.6) / 22)
    assert history.chance("jarrah", "another") == pytest.approx(0.03)


def test_a_spare_is_put_aside_for_a_plan_of_the_yard(ready: Yard) -> None:
    problem = problem_in_yard(ready.open_work, "hall-shelf")
    plan = plan_job(ready.open_work, "hall-shelf", seconds=20).plan
    told = put_aside(problem, plan, losses_before(ready.open_work), seconds=15)
    assert told.unharmed == pytest.approx(0.97**2)
    assert told.spare is not None
    assert told.spare.board == "SG-0003"
    certain = put_aside(problem, plan, chance=0.0, seconds=5)
    assert certain.unharmed == 1


def test_what_to_buy_goes_by_boards_that_came_in_before(ready: Yard) -> None:
    past = bought_before(ready.open_work)
    assert len(past.boards["spotted gum", "Riverbend Mill"]) == 5
    two = json.dumps(
        SHELF | {"id": "two", "panels": [SHELF["panels"][0] | {"id": f"s{n}"} for n in range(3)]}
    )
    add_job(ready.open_work, two.encode())
    rows = "supplier,species,length,width,thickness,price\nRiverbend Mill,spotted gum,970,130,32,45\n"
    offers = read_price_list(rows.encode())
    found = what_to_buy(problem_in_yard(ready.open_work, "two"), offers, past, trials=10, seconds=30)
    # Four boards make two panels; the third takes two more, and what was bought before had no flaws.
    assert [(line.count, line.like) for line in found.lines] == [
        (2, "5 boards of spotted gum from Riverbend Mill")
    ]
    assert (found.price, found.chance.good) == (90, 10)
