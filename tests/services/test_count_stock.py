from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from functools import partial
from threading import Barrier, Thread
from typing import Any

import pytest

from stockyard.errors import BadInput, BoardNotFree, NotFound, Refused, StockyardError
from stockyard.ledger import disagreements
from stockyard.records import OpenWork, Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.count_stock import (
    CountSheet,
    book_stocktake,
    drop_stocktake,
    read_numbers,
    show_stocktake,
    start_stocktake,
)
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.reverse_movement import reverse_movement
from stockyard.timber import DefectKind, Face
from tests.conftest import NOON
from tests.services.test_allocate_plan import planned
from tests.services.yards import SPOTTED_GUM, receive


def after(yard: Yard, minutes: int) -> OpenWork:
    """The yard so many minutes after noon."""
    return partial(yard.open_work, now=NOON + timedelta(minutes=minutes))


def findings(sheet: CountSheet) -> dict[str, str]:
    return {line.number: line.finding for line in sheet.lines}


def proved(yard: Yard) -> bool:
    with yard.open_work(reading=True) as work:
        return disagreements(work.movements.all(), work.stock.shown()) == [] == work.stock.disagreements()


def pieces_of(yard: Yard, *numbers: str) -> list[Any]:
    with yard.open_work(reading=True) as work:
        return [work.pieces.get(number) for number in numbers]


def test_a_count_is_looked_at_before_anything_is_booked_and_then_booked_whole(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM, SPOTTED_GUM)
    receive(yard, SPOTTED_GUM, docket="2", place="rack 2")
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, [" sg-0001", "SG-0004", "XX-0001", "SG-0001"])
    read_numbers(yard.open_work, ["SG-0002"], size_mm=(2310, 178, 32))

    shown = show_stocktake(yard.open_work)

    assert (shown.state, shown.expected) == ("open", 3)
    assert findings(shown)["SG-0003"] == "missing"
    assert shown.counts == {
        "missing": 1, "misplaced": 1, "unknown": 1, "gone": 0, "remeasured": 1, "meanwhile": 0, "found": 2,
    }  # fmt: skip
    assert pieces_of(yard, "SG-0003", "SG-0004")[1].place == "rack 2"

    booked = book_stocktake(yard.open_work, reason="nobody can find it")

    first, second, third, fourth = pieces_of(yard, "SG-0001", "SG-0002", "SG-0003", "SG-0004")
    assert first.on_hand
    assert (second.length_mm, second.width_mm, second.value) == (2310, 178, Decimal("48.00"))
    assert not third.on_hand
    assert fourth.place == "rack 1"
    assert (booked.state, len(booked.movements)) == ("booked", 1)
    assert replace(show_stocktake(yard.open_work, 1), state="open", movements=()) == shown
    assert proved(yard)


def test_a_missing_board_is_a_loss_and_comes_back_when_it_turns_up(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, ["SG-0001"])
    (movement,) = book_stocktake(yard.open_work, reason="lent out?").movements
    with yard.open_work(reading=True) as work:
        booked = work.movements.get(movement)
    assert booked.cause == "stocktake 1 of rack 1: lent out?"
    assert {line.account.value: line.value for line in booked.lines} == {
        "stock": Decimal("-48.00"),
        "losses": Decimal("48.00"),
    }

    start_stocktake(yard.open_work, "rack 1")
    turned_up = read_numbers(yard.open_work, ["SG-0001", "SG-0002"])
    assert findings(turned_up)["SG-0002"] == "gone"
    assert f"movement {movement}" in turned_up.lines[0].told
    reverse_movement(yard.open_work, movement, reason="it was behind the door")

    assert findings(show_stocktake(yard.open_work))["SG-0002"] == "found"
    assert pieces_of(yard, "SG-0002")[0].value == Decimal("48.00")
    assert proved(yard)


def test_stock_may_move_while_a_count_is_open(yard: Yard) -> None:
    """One board disposed of, one moved away, one moved off and back, one received: none is called missing."""
    receive(yard, *[SPOTTED_GUM] * 5)
    start_stocktake(yard.open_work, "rack 1")
    dispose_board(after(yard, 1), "SG-0001", reason="borers")
    move_boards(after(yard, 2), ("SG-0002",), "bench")
    move_boards(after(yard, 2), ("SG-0003",), "bench")
    move_boards(after(yard, 3), ("SG-0003",), "rack 1")
    receive(yard, SPOTTED_GUM, docket="2")
    read_numbers(after(yard, 4), ["SG-0006"])

    found = findings(show_stocktake(yard.open_work))

    assert found == {
        "SG-0001": "meanwhile",
        "SG-0002": "meanwhile",
        "SG-0003": "meanwhile",
        "SG-0004": "missing",
        "SG-0005": "missing",
        "SG-0006": "found",
    }


def test_a_board_cut_meanwhile_and_its_pieces_are_not_called_missing_or_unknown(yard: Yard) -> None:
    plan, boards = planned(yard)
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, [boards[0]])
    allocate_plan(after(yard, 1), plan)
    cut = cut_plan(after(yard, 2), plan)
    read_numbers(after(yard, 3), [piece.number for piece in cut.pieces])

    found = findings(book_stocktake(after(yard, 4)))

    assert {found[number] for number in boards} == {"meanwhile"}
    assert {found[piece.number] for piece in cut.pieces} == {"found"}
    assert proved(yard)


def test_staves_in_work_are_not_expected_on_the_rack(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)
    allocate_plan(sqlite_yard.open_work, plan)
    cut = cut_plan(sqlite_yard.open_work, plan)

    sheet = start_stocktake(after(sqlite_yard, 1), "rack 1")

    assert set(findings(sheet)) == {piece.number for piece in cut.offcuts}


def test_a_promised_board_that_is_missing_keeps_the_count_from_being_booked(yard: Yard) -> None:
    plan, boards = planned(yard)
    allocate_plan(yard.open_work, plan)
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, [boards[0]])

    with pytest.raises(BoardNotFree, match=f"{boards[1]} to plan {plan}"):
        book_stocktake(yard.open_work, reason="gone")

    assert show_stocktake(yard.open_work).state == "open"
    assert pieces_of(yard, boards[1])[0].on_hand


def test_missing_boards_need_a_reason_and_an_empty_count_is_not_booked(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    start_stocktake(yard.open_work, "rack 1")
    with pytest.raises(Refused, match="Nothing has been counted"):
        book_stocktake(yard.open_work, reason="gone")
    read_numbers(yard.open_work, ["SG-0001"])

    with pytest.raises(BadInput) as refused:
        book_stocktake(yard.open_work)

    assert refused.value.faults[0].found == "SG-0002"
    assert pieces_of(yard, "SG-0002")[0].on_hand


def test_a_place_is_counted_once_at_a_time_and_a_dropped_count_books_nothing(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    receive(yard, SPOTTED_GUM, docket="2", place="rack 2")
    start_stocktake(yard.open_work, "rack 1")
    with pytest.raises(Refused, match="already"):
        start_stocktake(yard.open_work, "rack 1")
    start_stocktake(yard.open_work, "rack 2")
    with pytest.raises(BadInput, match="Several counts"):
        read_numbers(yard.open_work, ["SG-0001"])

    assert drop_stocktake(yard.open_work, 1).state == "dropped"

    with pytest.raises(Refused, match="closed"):
        read_numbers(yard.open_work, ["SG-0001"], stocktake=1)
    assert start_stocktake(yard.open_work, "rack 1").number == 3
    assert pieces_of(yard, "SG-0001")[0].on_hand


def test_of_two_who_start_a_count_of_a_place_at_once_one_does(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    together, outcomes = Barrier(4), []

    def start() -> None:
        together.wait()
        try:
            outcomes.append(start_stocktake(yard.open_work, "rack 1").number)
        except Refused:
            outcomes.append(None)

    threads = [Thread(target=start) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sorted(outcomes, key=str) == [1, None, None, None]


def test_what_cannot_be_counted_is_refused_with_every_fault(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM)
    with pytest.raises(NotFound, match="rack 1"):
        start_stocktake(yard.open_work, "rak 1")
    with pytest.raises(BadInput, match="No count is open"):
        show_stocktake(yard.open_work)
    start_stocktake(yard.open_work, "rack 1")
    add_defect(yard.open_work, "SG-0001", Sketch(kind=DefectKind.WANE, face=Face.A, box=(2300, 0, 2400, 30)))

    for numbers, size, faults in (
        ([" "], None, 1),
        (["SG-0001", "SG-0002"], (2400.0, 180.0, -1.0), 2),
        (["SG-0001"], (float("nan"), 180.0, 32.0), 1),
        (["SG-0001"], (2350.0, 180.0, 32.0), 1),
    ):
        with pytest.raises(BadInput) as refused:
            read_numbers(yard.open_work, numbers, size_mm=size)
        assert len(refused.value.faults) == faults

    assert show_stocktake(yard.open_work).counts["missing"] == 2


def test_a_size_corrected_in_the_books_after_the_measurement_stands(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, ["SG-0001"], size_mm=(2300, 180, 32))
    correct_board(yard.open_work, "SG-0001", Correction(length_mm=2290))

    assert book_stocktake(yard.open_work).counts["remeasured"] == 0
    assert pieces_of(yard, "SG-0001")[0].length_mm == 2290


def test_a_count_booked_while_boards_are_disposed_of_books_each_board_out_once(yard: Yard) -> None:
    receive(yard, *[SPOTTED_GUM] * 6)
    start_stocktake(yard.open_work, "rack 1")
    read_numbers(yard.open_work, ["SG-0001"])
    together, refusals = Barrier(3), []

    def at_once(action: Any, *arguments: Any, **named: Any) -> None:
        together.wait()
        try:
            action(after(yard, 5), *arguments, **named)
        except StockyardError as refused:
            refusals.append(refused)

    threads = [
        Thread(target=at_once, args=(book_stocktake,), kwargs={"reason": "lost"}),
        Thread(target=at_once, args=(dispose_board, "SG-0004"), kwargs={"reason": "borers"}),
        Thread(target=at_once, args=(dispose_board, "SG-0005"), kwargs={"reason": "borers"}),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert all(isinstance(each, BoardNotFree) for each in refusals)
    assert [piece.on_hand for piece in pieces_of(yard, *(f"SG-000{n}" for n in range(1, 7)))] == [True] + [
        False
    ] * 5
    assert show_stocktake(yard.open_work, 1).state == "booked"
    assert proved(yard)


def test_a_scanned_label_that_holds_an_address_counts_as_its_number(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, SPOTTED_GUM, SPOTTED_GUM, place="rack 1")
    start_stocktake(sqlite_yard.open_work, "rack 1")

    sheet = read_numbers(sqlite_yard.open_work, ["https://yard.example/boards/SG-0001", "sg-0002 "])

    assert findings(sheet) == {
        "SG-0001": "found",
        "SG-0002": "found",
    }
