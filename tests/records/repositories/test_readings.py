from datetime import timedelta
from typing import Any

import pytest

from stockyard.errors import NotFound, Refused
from stockyard.records import UnitOfWork, Yard
from stockyard.timber.moisture_reading import MoistureReading
from tests.conftest import NOON
from tests.stocking import receive

DAY = NOON.date()


def a_reading(piece: str, corrected: float, days: int = 0, **changes: Any) -> MoistureReading:
    return MoistureReading(piece, DAY + timedelta(days=days), corrected + 1, corrected, **changes)


def shown(work: UnitOfWork, piece: str) -> float | None:
    return work.pieces.get(piece).moisture_pct


def test_a_reading_keeps_what_the_meter_showed_and_how_it_was_corrected(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        (board,) = receive(work)
        reading = a_reading(
            board, 11.0, meter="pin meter", wood_c=18.5, rule="temperature, then blackbutt", note="heart side"
        )
        work.readings.add([reading])

        (back,) = work.readings.of_piece(board)

    assert (back.piece, back.taken_on, back.raw_pct, back.corrected_pct) == (board, DAY, 12.0, 11.0)
    assert (back.meter, back.wood_c, back.rule, back.note, back.who, back.void) == (
        "pin meter",
        18.5,
        "temperature, then blackbutt",
        "heart side",
        "Ada",
        None,
    )


def test_the_newest_by_date_is_the_boards_moisture(yard: Yard) -> None:
    with yard.open_work() as work:
        (board,) = receive(work)
        assert shown(work, board) is None
        work.readings.add([a_reading(board, 11.0), a_reading(board, 14.0, days=-30)])
        assert shown(work, board) == 11.0
        work.readings.add([a_reading(board, 10.5)])
        assert shown(work, board) == 10.5
        assert work.pieces.get(board).moisture_on == DAY


def test_a_reading_taken_back_counts_no_more_but_stays(yard: Yard) -> None:
    with yard.open_work() as work:
        (board,) = receive(work)
        work.readings.add([a_reading(board, 11.0, days=-1), a_reading(board, 30.0)])
        wrong = work.readings.of_piece(board)[1]

        work.readings.void(wrong.id or 0, cause="touched a nail")

        assert shown(work, board) == 11.0
        assert [reading.void for reading in work.readings.of_piece(board)] == [None, "touched a nail"]
        with pytest.raises(Refused, match="taken back already"):
            work.readings.void(wrong.id or 0, cause="again")


def test_with_every_reading_taken_back_it_is_unread(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work)
        work.readings.add([a_reading(board, 11.0)])
        work.readings.void(1, cause="wrong board")

        assert shown(work, board) is None
        assert [change.new for change in work.pieces.history(board)] == [11.0, None]


def test_an_older_reading_changes_nothing_that_plans_rest_on(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work)
        work.readings.add([a_reading(board, 11.0)])
        version = work.pieces.get(board).version

        work.readings.add([a_reading(board, 14.0, days=-9)])

        assert work.pieces.get(board).version == version == 2


def test_a_copy_of_a_copy_leads_back_to_the_reading_that_was_taken(yard: Yard) -> None:
    with yard.open_work() as work:
        board, offcut, smaller = receive(work, 3)
        work.readings.add([a_reading(board, 11.0)])
        for parent, child in ((board, offcut), (offcut, smaller)):
            (reading,) = work.readings.of_piece(parent)
            copy = {name: getattr(reading, name) for name in MoistureReading.__dataclass_fields__}
            work.readings.add([MoistureReading(**{**copy, "piece": child, "copied_from": parent})])

        assert work.readings.of_piece(smaller)[0].copied_from == board


def test_there_is_no_such_board_or_reading(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        with pytest.raises(NotFound):
            work.readings.add([a_reading("SG-0001", 11.0)])
        with pytest.raises(NotFound):
            work.readings.void(5, cause="none")


def test_a_reading_that_no_table_corrects_is_kept_and_is_not_the_boards_moisture(yard: Yard) -> None:
    with yard.open_work() as work:
        (board,) = receive(work)
        work.readings.add([a_reading(board, 11.0, days=-9)])
        work.readings.add([MoistureReading(board, DAY, 20.0, None, rule="no figure for this species")])

        assert shown(work, board) == 11.0
        assert work.readings.of_piece(board)[1].raw_pct == 20.0
