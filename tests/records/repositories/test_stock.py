"""The database's sums on any date, against the plain fold of the same movements."""

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockyard.ledger import Sums, balanced, disagreements, fold
from stockyard.records import UnitOfWork, Yard
from stockyard.records.repositories.stock import HeldGroup
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import PieceStatus
from tests.conftest import NOON
from tests.stocking import a_plan, keep_plan, receive

DAY = NOON.date()


def summed(groups: list[HeldGroup]) -> tuple[int, int, Decimal]:
    return (
        sum(group.pieces for group in groups),
        sum(group.volume_mm3 for group in groups),
        sum((group.value for group in groups), Decimal(0)),
    )


def test_groups_say_how_much_stands_where(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 2)
        receive(work, 1, species="blackbutt", thickness_mm=50.0, place="rack 2", value="10.50")

        blackbutt, gum = work.stock.grouped()

    assert blackbutt == HeldGroup(
        "blackbutt", 50.0, "rack 2", PieceStatus.FREE, None, 1, 2400.0, 2400 * 180 * 50, Decimal("10.50")
    )
    assert (gum.species, gum.pieces, gum.length_mm, gum.value) == ("spotted gum", 2, 4800.0, Decimal("96.00"))


def test_a_look_back_shows_places_and_sizes_as_they_were(yard: Yard) -> None:
    with yard.open_work() as work:
        (board, other) = receive(work, 2)
        for days, facts in ((2, {"place": "bench"}), (4, {"place": "saw", "thickness_mm": 30.0})):
            work.pieces.change(board, effective=DAY + timedelta(days=days), **facts)

        def seen(days: int) -> set[tuple[Any, ...]]:
            held = work.stock.held(DAY + timedelta(days=days))
            groups = work.stock.grouped(DAY + timedelta(days=days))
            assert summed(groups) == (
                len(held),
                sum(piece.volume_mm3 for piece in held),
                sum((piece.value for piece in held), Decimal(0)),
            )
            assert {(group.place, group.thickness_mm) for group in groups} == {
                (piece.place, piece.thickness_mm) for piece in held
            }
            return {
                (piece.place, piece.thickness_mm, piece.volume_mm3) for piece in held if piece.number == board
            }

        whole, planed = 2400 * 180 * 32, 2400 * 180 * 30
        assert seen(-1) == set()
        assert seen(0) == seen(1) == {("rack 1", 32.0, whole)}
        assert seen(2) == seen(3) == {("bench", 32.0, whole)}
        assert seen(4) == seen(400) == {("saw", 30.0, planed)}
        assert other in {piece.number for piece in work.stock.held(DAY)}


def test_a_look_back_shows_promises_and_worth_as_they_were(yard: Yard) -> None:
    with yard.open_work() as work:
        (board,) = receive(work)
        plan = keep_plan(work, a_plan([board]))
        later, last = DAY + timedelta(days=1), DAY + timedelta(days=2)
        work.movements.book(Movement(MovementKind.ALLOCATE, (Line(board, promised=1),), later, plan=plan))
        down = balanced([Line(board, value=Decimal("-8.00"))], Account.WRITE_DOWNS)
        work.movements.book(Movement(MovementKind.WRITE_DOWN, down, last))

        told = [(held.status, held.value) for day in (DAY, later, last) for held in work.stock.held(day)]

        assert told == [
            (PieceStatus.FREE, Decimal("48.00")),
            (PieceStatus.PROMISED, Decimal("48.00")),
            (PieceStatus.PROMISED, Decimal("40.00")),
        ]
        assert work.stock.held() == work.stock.held(last)


@pytest.mark.parametrize(
    ("column", "wrong"),
    [("value", "48010"), ("on_hand", "0"), ("volume_mm3", "1"), ("promised_plan_id", "1")],
)
def test_a_piece_that_shows_what_its_movements_do_not_say_is_found(
    yard: Yard, column: str, wrong: str
) -> None:
    with yard.open_work() as work:
        boards = receive(work, 3)
        keep_plan(work, a_plan(boards))
        assert work.stock.disagreements() == []
        work.connection.exec_driver_sql(f"UPDATE piece SET {column} = {wrong} WHERE number = '{boards[1]}'")

        (found,) = work.stock.disagreements()

        assert found.where == boards[1]
        assert [found] == disagreements(work.movements.all(), work.stock.shown())


def test_a_movement_that_does_not_balance_is_found(yard: Yard) -> None:
    """Nothing of ours can book one, so a line is slipped into the book behind its back."""
    with yard.open_work() as work:
        receive(work)
        work.connection.exec_driver_sql(
            "INSERT INTO movement_line"
            " (movement_id, effective, account, on_hand, promised, value, volume_mm3)"
            " VALUES (1, '2026-03-02', 'losses', 0, 0, 5000, 0)"
        )

        assert [(each.where, each.summed) for each in work.stock.disagreements()] == [("movement 1", "5.00")]
        assert work.stock.disagreements() == disagreements(work.movements.all(), work.stock.shown())


HAPPENINGS = st.lists(
    st.tuples(
        st.sampled_from(["write down", "dispose", "measure", "promise", "move"]),
        st.integers(0, 4),  # which board
        st.integers(1, 30),  # how much
        st.integers(0, 9),  # days later
    ),
    max_size=14,
)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(happenings=HAPPENINGS, look_back=st.integers(-1, 10))
def test_any_history_adds_up_as_the_plain_fold_does(
    kind: str, request: pytest.FixtureRequest, happenings: list[tuple[str, int, int, int]], look_back: int
) -> None:
    yard: Yard = request.getfixturevalue(f"{'sqlite' if kind == 'sqlite' else 'postgres'}_yard")
    with yard.open_work() as work:  # never committed, so that every history starts from nothing
        boards = receive(work, 4) + receive(work, 1, species="blackbutt", place="rack 2", value="7.77")
        plan = keep_plan(work, a_plan(boards))
        happened = sorted(happenings, key=lambda each: each[3])
        for what, which, much, days in happened:
            _happen(work, what, boards[which], much, DAY + timedelta(days=days), plan)

        movements, shown = work.movements.all(), work.stock.shown()
        assert disagreements(movements, shown) == work.stock.disagreements() == []
        day = DAY + timedelta(days=look_back)
        expected = {number: sums for number, sums in fold(movements, day).items() if sums.on_hand}
        held = {piece.number: piece for piece in work.stock.held(day)}
        assert {
            number: Sums(1, int(piece.status is PieceStatus.PROMISED), piece.value, piece.volume_mm3)
            for number, piece in held.items()
        } == expected

        groups: dict[Any, list[Any]] = defaultdict(lambda: [0, 0, Decimal(0)])
        for piece in held.values():
            sums = groups[piece.species, piece.thickness_mm, piece.place, piece.status]
            for place, more in enumerate((1, piece.volume_mm3, piece.value)):
                sums[place] += more
        assert {
            (group.species, group.thickness_mm, group.place, group.status): [
                group.pieces,
                group.volume_mm3,
                group.value,
            ]
            for group in work.stock.grouped(day)
        } == dict(groups)


def _happen(work: UnitOfWork, what: str, number: str, much: int, day: date, plan: int) -> None:
    piece = work.pieces.get(number)
    if not piece.on_hand:
        return
    if what == "measure":
        work.pieces.change(number, effective=day, thickness_mm=float(much))
    elif what == "move":
        work.pieces.change(number, effective=day, place=f"rack {much % 3}")
    elif what == "promise":
        turn = 1 if piece.promised_to is None else -1
        kind = MovementKind.ALLOCATE if turn > 0 else MovementKind.RELEASE
        work.movements.book(Movement(kind, (Line(number, promised=turn),), day, plan=plan))
    elif what == "write down":
        lost = min(Decimal(much) / 10, piece.value)
        lines = balanced([Line(number, value=-lost)], Account.WRITE_DOWNS)
        work.movements.book(Movement(MovementKind.WRITE_DOWN, lines, day))
    elif piece.promised_to is None:
        gone = balanced([Line(number, -1, 0, -piece.value, -piece.volume_mm3)], Account.LOSSES)
        work.movements.book(Movement(MovementKind.DISPOSE, gone, day))
