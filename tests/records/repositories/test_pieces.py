import time
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import event

from stockyard.errors import BadInput, Broken, NotFound
from stockyard.ledger import disagreements
from stockyard.records import Yard
from stockyard.services.dispose_board import dispose_board
from stockyard.timber import DefectKind, Distortion, Face, Window
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.movement import Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery
from tests.builders import a_box
from tests.conftest import NOON
from tests.stocking import a_delivery, receive


def test_a_piece_comes_back_as_it_went_in(yard: Yard) -> None:
    with yard.open_work() as work:
        work.deliveries.add(a_delivery())
        (parent,) = receive(work, supplier="Tallow Creek Mill", delivery="D-17", row=3)
        piece = Piece(
            number="SG-X1",
            species="spotted gum",
            length_mm=812.5,
            width_mm=151.0,
            thickness_mm=31.7,
            kind=PieceKind.OFFCUT,
            distortion=Distortion(1.5, 2.5, 0.5, 0.25),
            heart_face=Face.B,
            colour_a=(52.1, 14.0, 22.5),
            colour_b=None,
            place="bench",
            note="figured",
            supplier="Tallow Creek Mill",
            delivery="D-17",
            row=3,
            parent=parent,
            window=Window(1243, 0, 2055, 151),
        )
        work.pieces.add([piece])
        work.commit()

    with yard.open_work(reading=True) as work:
        assert work.pieces.get("SG-X1") == piece


def test_what_movements_decide_is_not_taken_from_who_adds_a_piece(sqlite_yard: Yard) -> None:
    boast = Piece("SG-X1", "spotted gum", 2400, 180, 32, on_hand=True, value=Decimal(999), volume_mm3=1)

    with sqlite_yard.open_work() as work:
        work.pieces.add([boast])
        added = work.pieces.get("SG-X1")

    assert (added.on_hand, added.value, added.volume_mm3) == (False, 0, 0)


def test_numbers_run_on_by_prefix_with_four_digits_at_least(yard: Yard) -> None:
    with yard.open_work() as work:
        assert work.pieces.new_numbers("spotted gum", 2) == ["SG-0001", "SG-0002"]
        assert work.pieces.new_numbers("blackbutt") == ["BB-0001"]
        assert work.pieces.new_numbers("spotted gum", 9998)[-1] == "SG-10000"


def test_the_workshop_has_its_own_scheme(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        work.workshop.set("numbers", {"separator": "", "digits": 6})

        assert work.pieces.new_numbers("spotted gum") == ["SG000001"]


def test_numbers_of_an_unknown_species_are_refused_with_near_names(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work, pytest.raises(NotFound, match="spotted gum"):
        work.pieces.new_numbers("spoted gum")


def test_a_piece_that_is_not_there_is_named_with_near_numbers(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 3)
        with pytest.raises(NotFound, match="SG-0001"):
            work.pieces.get("SG-001")


@pytest.fixture
def rack(sqlite_yard: Yard) -> Yard:
    """Five boards that differ, and one that is gone."""
    with sqlite_yard.open_work() as work:
        work.deliveries.add(a_delivery())
        receive(work, length_mm=1200.0)  # SG-0001
        receive(work, width_mm=250.0, thickness_mm=50.0, place="rack 2")  # SG-0002
        receive(work, species="blackbutt", supplier="Tallow Creek Mill", delivery="D-17")  # BB-0001
        receive(work, kind=PieceKind.STAVE)  # SG-0003
        receive(work, kind=PieceKind.OFFCUT, length_mm=400.0, parent="SG-0001")  # SG-0004
        receive(work)  # SG-0005
        work.readings.add([MoistureReading("SG-0002", NOON.date(), 12, 11.0)])
        work.commit()
    dispose_board(sqlite_yard.open_work, "SG-0005", reason="borers")
    return sqlite_yard


@pytest.mark.parametrize(
    ("query", "found"),
    [
        (RackQuery(), ["BB-0001", "SG-0001", "SG-0002", "SG-0003", "SG-0004"]),
        (RackQuery(species=("blackbutt",)), ["BB-0001"]),
        (RackQuery(kinds=(PieceKind.OFFCUT, PieceKind.STAVE)), ["SG-0003", "SG-0004"]),
        (RackQuery(status=(PieceStatus.GONE,)), ["SG-0005"]),
        (RackQuery(status=(PieceStatus.IN_WORK,)), ["SG-0003"]),
        (RackQuery(status=(PieceStatus.FREE,)), ["BB-0001", "SG-0001", "SG-0002", "SG-0004"]),
        (RackQuery(status=(PieceStatus.PROMISED,)), []),
        (RackQuery(length_at_least_mm=2400), ["BB-0001", "SG-0002", "SG-0003"]),
        (RackQuery(length_at_least_mm=1200, width_at_least_mm=181), ["SG-0002"]),
        (RackQuery(thickness_at_least_mm=33), ["SG-0002"]),
        (RackQuery(thickness_at_most_mm=32, kinds=(PieceKind.OFFCUT,)), ["SG-0004"]),
        (RackQuery(moisture_at_most_pct=11), ["SG-0002"]),
        (RackQuery(moisture_at_least_pct=11.1), []),
        (RackQuery(place="rack 2"), ["SG-0002"]),
        (RackQuery(delivery="D-17"), ["BB-0001"]),
        (RackQuery(supplier="Tallow Creek Mill"), ["BB-0001"]),
        (RackQuery(parent="SG-0001"), ["SG-0004"]),
        (RackQuery(numbers=("SG-0002", "SG-0005", "SG-0001")), ["SG-0001", "SG-0002"]),
        (RackQuery(numbers=()), []),
    ],
)
def test_the_rack_answers_each_filter(rack: Yard, query: RackQuery, found: list[str]) -> None:
    with rack.open_work(reading=True) as work:
        assert [piece.number for piece in work.pieces.find(query)] == found
        assert work.pieces.count(query) == len(found)


def test_a_long_list_comes_in_parts(rack: Yard) -> None:
    with rack.open_work(reading=True) as work:
        parts = [work.pieces.find(limit=2, offset=start) for start in (0, 2, 4)]

    assert [[piece.number for piece in part] for part in parts] == [
        ["BB-0001", "SG-0001"],
        ["SG-0002", "SG-0003"],
        ["SG-0004"],
    ]


def test_measuring_again_changes_volume_and_never_value(yard: Yard) -> None:
    with yard.open_work() as work:
        (number,) = receive(work)
        work.commit()
    with yard.open_work(who="Bo", now=NOON + timedelta(days=2)) as work:
        now = work.pieces.change(number, cause="dressed", thickness_mm=28.0, length_mm=2380.0)
        work.commit()

    assert (now.volume_mm3, now.value, now.version) == (2380 * 180 * 28, Decimal("48.00"), 2)
    with yard.open_work(reading=True) as work:
        (*_, count) = work.movements.of_piece(number)
        assert (count.kind, count.cause, count.effective) == (
            MovementKind.COUNT,
            "dressed",
            NOON.date() + timedelta(days=2),
        )
        assert [
            (change.fact, change.old, change.new, change.who) for change in work.pieces.history(number)
        ] == [
            ("thickness_mm", 32.0, 28.0, "Bo"),
            ("length_mm", 2400.0, 2380.0, "Bo"),
        ]
        assert disagreements(work.movements.all(), work.stock.shown()) == []


def test_a_move_is_kept_but_is_nothing_to_a_plan(yard: Yard) -> None:
    with yard.open_work() as work:
        (number,) = receive(work)

        moved = work.pieces.change(number, place="bench")

        assert (moved.place, moved.version) == ("bench", 1)
        (change,) = work.pieces.history(number)
        assert (change.fact, change.old, change.new) == ("place", "rack 1", "bench")


def test_the_same_fact_again_is_no_change(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (number,) = receive(work)

        work.pieces.change(number, length_mm=2400.0, distortion=Distortion())

        assert work.pieces.history(number) == ()
        assert work.pieces.get(number).version == 1


def test_faces_and_distortion_can_be_corrected(yard: Yard) -> None:
    with yard.open_work() as work:
        (number,) = receive(work)

        piece = work.pieces.change(
            number, distortion=Distortion(bow_mm=4.0), heart_face=Face.A, colour_b=(50.0, 1.0, 2.0)
        )

        assert (piece.distortion, piece.heart_face, piece.colour_b) == (
            Distortion(bow_mm=4.0),
            Face.A,
            (50.0, 1.0, 2.0),
        )
        assert [change.fact for change in work.pieces.history(number)] == ["heart_face", "colour_b", "bow_mm"]


def test_a_piece_that_is_gone_is_not_corrected(rack: Yard) -> None:
    with rack.open_work() as work, pytest.raises(BadInput, match="no longer on hand"):
        work.pieces.change("SG-0005", length_mm=100.0)


def test_what_follows_from_movements_cannot_be_set(rack: Yard) -> None:
    with rack.open_work() as work, pytest.raises(Broken, match="'value'"):
        work.pieces.change("SG-0001", value=Decimal(1))


def test_boards_for_selection_carry_all_that_selection_sees(yard: Yard) -> None:
    with yard.open_work() as work:
        first, second = receive(work, 2, heart_face=Face.B, distortion=Distortion(4, 3, 1, 2))
        work.defects.add(first, DefectKind.CRACK, Face.A, a_box(310, 40, 455, 55), depth_mm=3, opening_mm=0.4)
        gone = work.defects.add(first, DefectKind.STAIN, Face.B, a_box(0, 0, 10, 10))
        work.defects.remove(gone.defect.id)
        work.readings.add([MoistureReading(first, NOON.date(), 12.0, 11.2)])

        seen, clear = work.pieces.boards_for_selection()

    assert (seen.id, clear.id) == (first, second)
    assert (seen.value, seen.moisture_pct, clear.moisture_pct) == (Decimal("48.00"), 11.2, None)
    assert (seen.distortion, seen.heart_face) == (Distortion(4, 3, 1, 2), Face.B)
    (crack,) = seen.defects
    assert (crack.id, crack.kind, crack.outline) == (
        f"{first}/1",
        DefectKind.CRACK,
        a_box(310, 40, 455, 55),
    )
    assert (crack.depth_mm, crack.opening_mm) == (3, 0.4)
    assert clear.defects == ()


def test_selection_is_offered_what_is_free_and_no_staves(rack: Yard) -> None:
    with rack.open_work(reading=True) as work:
        offered = [board.id for board in work.pieces.boards_for_selection()]

    assert offered == ["BB-0001", "SG-0001", "SG-0002", "SG-0004"]


def test_however_many_boards_it_takes_the_same_few_questions(sqlite_yard: Yard) -> None:
    asked: list[str] = []
    event.listen(sqlite_yard.engine, "before_cursor_execute", lambda *call: asked.append(call[2]))

    def questions(count: int) -> int:
        with sqlite_yard.open_work() as work:
            for number in receive(work, count):
                work.defects.add(number, DefectKind.CRACK, Face.A, a_box(0, 0, 10, 10))
            asked.clear()
            work.pieces.boards_for_selection()
            work.pieces.find()
        return len(asked)

    assert questions(2) == questions(40) <= 3


def test_ten_thousand_boards_are_received_in_one_go(sqlite_yard: Yard) -> None:
    asked: list[Any] = []
    event.listen(sqlite_yard.engine, "before_cursor_execute", lambda *call: asked.append(call[2]))
    start = time.process_time()

    with sqlite_yard.open_work() as work:
        numbers = receive(work, 10_000)
        work.readings.add(MoistureReading(number, NOON.date(), 12, 11) for number in numbers)
        work.commit()

    assert len(asked) < 60
    assert time.process_time() - start < 20
    with sqlite_yard.open_work(reading=True) as work:
        assert work.pieces.count(RackQuery(moisture_at_least_pct=11)) == 10_000


def test_a_movement_that_would_put_a_piece_on_hand_twice_is_a_fault_of_ours(yard: Yard) -> None:
    with yard.open_work() as work:
        (number,) = receive(work)
        again = Movement(MovementKind.COUNT, (Line(number, on_hand=1),), NOON.date())

        with pytest.raises(Broken, match="on hand twice"):
            work.movements.book(again)
