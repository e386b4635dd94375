import json
from typing import Any

import pytest

from stockyard.errors import BoardNotFree, NotFound, PlanOutOfDate
from stockyard.records import Yard
from stockyard.selection import check_plan, read_job, read_stock
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.cut_plan import cut_plan
from stockyard.services.jobs import add_job
from stockyard.services.list_boards import list_boards
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.plan_job import list_plans, plan_job, show_plan
from stockyard.services.read_moisture import add_reading
from stockyard.services.select_from_files import select_from_files
from stockyard.timber import DefectKind, Face, Status, Stock
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.piece import PieceKind
from stockyard.timber.rack_query import RackQuery
from tests.services.yards import receive

SHELF: dict[str, Any] = {
    "format": "stockyard.job/1",
    "id": "hall-shelf",
    "rules": {"show": {"crack": {"do": "treat", "per_item": 2.0}}, "back": {"crack": {"do": "accept"}}},
    "panels": [
        {
            "id": "shelf", "length": 900, "width": 280, "thickness": 24, "species": ["spotted gum"],
            "staves": {"min": 2, "max": 2}, "stave_width": {"min": 120, "max": 160}, "show": "one",
            "priority": 1,
        }
    ],
}  # fmt: skip


@pytest.fixture
def ready(yard: Yard) -> Yard:
    """Four boards of spotted gum, three of them read, and one job."""
    receive(yard, *["spotted gum,1500,170,32,40.00"] * 4)
    for number in ("SG-0001", "SG-0002", "SG-0003"):
        add_reading(yard.open_work, number, 11, meter="ovendry")
    add_job(yard.open_work, json.dumps(SHELF).encode())
    return yard


def test_a_plan_is_kept_with_what_it_was_made_from(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    assert kept.plan.status is Status.OPTIMAL
    assert kept.booked.status is PlanStatus.PROPOSED
    again = show_plan(ready.open_work, kept.booked.number)
    assert again.plan.panels == kept.plan.panels
    assert again.plan.cost == kept.plan.cost
    assert set(again.boards) == {"SG-0001", "SG-0002", "SG-0003", "SG-0004"}
    assert check_plan(again.plan, Stock(tuple(again.boards.values()))) == ()
    assert [each.number for each in list_plans(ready.open_work, "hall-shelf")] == [kept.booked.number]


def test_files_and_yard_give_the_same_plan(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    stock = json.dumps(dict(kept.booked.stock)).encode()
    plan, _, document = select_from_files(stock, json.dumps(SHELF).encode(), seconds=20)
    assert plan.panels == kept.plan.panels
    assert plan.cost_parts == kept.plan.cost_parts
    assert document["boards"] == kept.booked.document["boards"]


def test_the_same_stock_and_job_give_the_same_plan_again(ready: Yard) -> None:
    first = plan_job(ready.open_work, "hall-shelf", seconds=20)
    second = plan_job(ready.open_work, "hall-shelf", seconds=20)
    assert first.plan.panels == second.plan.panels
    assert first.plan.boards == second.plan.boards


def test_a_board_never_read_is_out_with_its_reason(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    (rejected,) = [each for each in kept.plan.rejected if each.id == "SG-0004"]
    assert {reason.why for reason in rejected.reasons} == {"moisture"}


def test_promised_boards_are_left_alone_and_named(ready: Yard) -> None:
    first = plan_job(ready.open_work, "hall-shelf", seconds=20)
    allocate_plan(ready.open_work, first.booked.number)
    second = plan_job(ready.open_work, "hall-shelf", seconds=20)
    assert not set(second.booked.seen) & set(first.booked.seen)
    reasons = {each.id: {reason.why for reason in each.reasons} for each in second.plan.rejected}
    assert all("reserved" in reasons[board] for board in first.booked.seen)


def test_a_plan_whose_board_changed_is_not_allocated(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    board = min(kept.booked.seen)
    add_defect(ready.open_work, board, Sketch(kind=DefectKind.DECAY, face=Face.A, box=(500, 10, 520, 30)))
    with pytest.raises(PlanOutOfDate, match=board):
        allocate_plan(ready.open_work, kept.booked.number)


def test_moving_a_board_leaves_its_plan_good(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    move_boards(ready.open_work, tuple(kept.booked.seen), "bench")
    allocate_plan(ready.open_work, kept.booked.number)


def test_two_plans_cannot_have_one_board(ready: Yard) -> None:
    first = plan_job(ready.open_work, "hall-shelf", seconds=20)
    second = plan_job(ready.open_work, "hall-shelf", seconds=20)
    allocate_plan(ready.open_work, first.booked.number)
    with pytest.raises(BoardNotFree):
        allocate_plan(ready.open_work, second.booked.number)


def test_from_plan_to_offcuts_on_the_rack_value_is_kept_to_the_cent(ready: Yard) -> None:
    before = sum(piece.value for piece in list_boards(ready.open_work, RackQuery()))
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    allocate_plan(ready.open_work, kept.booked.number)
    record = cut_plan(ready.open_work, kept.booked.number)
    rack = list_boards(ready.open_work, RackQuery())
    assert sum(piece.value for piece in rack) == before
    assert len(record.staves) == 2
    offcuts = [piece for piece in rack if piece.kind is PieceKind.OFFCUT]
    planned = [offcut for cut in kept.plan.boards for offcut in cut.offcuts]
    assert sorted((piece.length_mm, piece.width_mm) for piece in offcuts) == sorted(
        (offcut.window.length_mm, offcut.window.width_mm) for offcut in planned
    )


def test_a_board_corrected_after_its_plan_is_told_by_fact(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    board = min(kept.booked.seen)
    correct_board(ready.open_work, board, Correction(width_mm=169))
    with pytest.raises(PlanOutOfDate, match="width 170 -> 169"):
        allocate_plan(ready.open_work, kept.booked.number)


def test_no_such_plan_and_no_such_job_are_named(ready: Yard) -> None:
    with pytest.raises(NotFound):
        show_plan(ready.open_work, 99)
    with pytest.raises(NotFound, match="hall-shelf"):
        plan_job(ready.open_work, "hall-shelv")


def test_the_documents_kept_read_back(ready: Yard) -> None:
    kept = plan_job(ready.open_work, "hall-shelf", seconds=20)
    stock = read_stock(dict(kept.booked.stock))
    assert len(stock.boards) == 4
    assert read_job(SHELF).id == kept.booked.job
