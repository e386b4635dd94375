from collections.abc import Iterable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput, PlanOutOfDate, Refused, StepOpen
from stockyard.ledger import OffcutPolicy, disagreements
from stockyard.records import UnitOfWork, Yard
from stockyard.records.repositories.workshop import OFFCUT_POLICY
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import CutRecord, cut_plan
from stockyard.services.steps import complete_step
from stockyard.timber import DefectKind, Distortion, Face, Window
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.mapped_defect import DefectOrigin, DefectState
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.movement import Account, MovementKind
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.step import StepState
from tests.builders import a_box
from tests.conftest import NOON
from tests.stocking import a_delivery, a_plan, keep_plan, receive


def allocated(yard: Yard, treat: str | None = None, boards: int = 1, **facts: Any) -> tuple[int, list[str]]:
    """An allocated plan; each board has a flaw from x = 1200 to 1300, across the cut at 1240 to 1243.

    It is a crack, or bark grown in where it is to be filled with epoxy.
    """
    kind = DefectKind.BARK_INCLUSION if treat == "epoxy" else DefectKind.CRACK
    with yard.open_work(who="Ada") as work:
        numbers = receive(work, boards, **facts)
        for number in numbers:
            work.defects.add(number, kind, Face.A, a_box(1200, 80, 1300, 84), note="long one")
        plan = keep_plan(work, a_plan(numbers, treat))
        work.commit()
    allocate_plan(yard.open_work, plan)
    return plan, numbers


def total(pieces: Iterable[Piece]) -> Decimal:
    return sum((piece.value for piece in pieces), Decimal(0))


def proved(work: UnitOfWork) -> bool:
    return disagreements(work.movements.all(), work.stock.shown()) == []


def test_the_board_ends_and_its_pieces_begin(yard: Yard) -> None:
    plan, (board,) = allocated(yard)

    record = cut_plan(yard.open_work, plan, who="Bo")

    assert record.plan.status is PlanStatus.CUT
    with yard.open_work(reading=True) as work:
        ended = work.pieces.get(board)
        assert (ended.on_hand, ended.value, ended.volume_mm3, ended.promised_to) == (False, 0, 0, None)
        assert (ended.status, ended.ended_by) == (PieceStatus.GONE, MovementKind.CUT)
        stave, offcut = work.pieces.children(board)
        assert (stave.kind, stave.window, stave.panel, stave.stave) == (
            PieceKind.STAVE,
            Window(20, 0, 1240, 140),
            "top",
            0,
        )
        assert (stave.status, stave.length_mm, stave.width_mm, stave.thickness_mm) == (
            PieceStatus.IN_WORK,
            1220,
            140,
            32,
        )
        assert (offcut.kind, offcut.window, offcut.panel) == (
            PieceKind.OFFCUT,
            Window(1243, 0, 2400, 180),
            None,
        )
        assert (offcut.status, offcut.length_mm, offcut.width_mm) == (PieceStatus.FREE, 1157, 180)
        assert {piece.cut_by for piece in (stave, offcut)} == {plan}
        assert {piece.parent for piece in (stave, offcut)} == {board}
        assert offcut in record.offcuts
        assert proved(work)


def test_value_in_is_value_out_in_one_movement(yard: Yard) -> None:
    plan, _ = allocated(yard, boards=3, value="48.01")

    record = cut_plan(yard.open_work, plan)

    assert record.value_in == Decimal("144.03") == total(record.pieces)
    with yard.open_work(reading=True) as work:
        *_, movement = work.movements.of_plan(plan)
        assert movement.id == record.movement
        assert sum(line.value for line in movement.lines) == 0


@pytest.mark.parametrize(
    ("policy", "offcut_worth", "stave", "offcut"),
    [
        (OffcutPolicy.VOLUME, "12.00", "141.26", "37.67"),
        (OffcutPolicy.BY_PRODUCT, "12.00", "166.93", "12.00"),
    ],
)
def test_the_worked_lot_is_shared_by_the_workshops_policy(
    sqlite_yard: Yard, policy: OffcutPolicy, offcut_worth: str, stave: str, offcut: str
) -> None:
    """A board of 178.93 cut into 0.015 m3 of staves and an offcut of 0.004 m3 that would sell for 12.

    Source: worked example COST-06 (computed), on AASB 102 paragraph 14.
    """
    with sqlite_yard.open_work() as work:
        work.workshop.set(OFFCUT_POLICY, policy)
        boards = receive(work, value="178.93", length_mm=2400.0, width_mm=200.0, thickness_mm=50.0)
        windows = {"rough": Window(20, 0, 1520, 200), "offcut": Window(2000, 0, 2400, 200)}
        plan = keep_plan(work, a_plan(boards, offcut_value=offcut_worth, **windows))
        work.commit()
    allocate_plan(sqlite_yard.open_work, plan)

    record = cut_plan(sqlite_yard.open_work, plan)

    assert [piece.volume_mm3 for piece in record.pieces] == [15_000_000, 4_000_000]
    assert [piece.value for piece in record.pieces] == [Decimal(stave), Decimal(offcut)]


def test_each_piece_takes_its_part_of_a_defect_in_its_own_frame(yard: Yard) -> None:
    """The crack runs from 1200 to 1300; the stave ends at 1240, the offcut begins at 1243."""
    plan, (board,) = allocated(yard)

    record = cut_plan(yard.open_work, plan)

    with yard.open_work(reading=True) as work:
        (in_stave,) = work.defects.of_piece(record.staves[0].number)
        (in_offcut,) = work.defects.of_piece(record.offcuts[0].number)
    assert set(in_stave.defect.outline) == set(a_box(1180, 80, 1220, 84))
    assert set(in_offcut.defect.outline) == set(a_box(0, 80, 57, 84))
    assert in_offcut.defect.id == f"{record.offcuts[0].number}/1"
    for part in (in_stave, in_offcut):
        assert (part.origin, part.note, part.cause) == (
            DefectOrigin.INHERITED,
            "long one",
            f"part of {board}/1",
        )


def test_a_piece_bends_by_its_size(sqlite_yard: Yard) -> None:
    """Bow and spring fall with (l/L)^2, cup with (w/W)^2, twist with both (sagitta of an arc, L^2 / 8R)."""
    plan, _ = allocated(sqlite_yard, distortion=Distortion(4.0, 3.0, 2.0, 1.0))

    offcut = cut_plan(sqlite_yard.open_work, plan).offcuts[0]

    along, across = 1157 / 2400, 180 / 180
    bent = offcut.distortion
    assert bent.bow_mm == pytest.approx(4.0 * along**2)
    assert bent.spring_mm == pytest.approx(3.0 * along**2)
    assert bent.cup_mm == pytest.approx(2.0 * across**2)
    assert bent.twist_mm == pytest.approx(1.0 * along * across)


def test_an_offcut_keeps_its_origin_place_faces_and_readings(yard: Yard) -> None:
    with yard.open_work() as work:
        work.deliveries.add(a_delivery())
        (board,) = receive(
            work,
            supplier="Tallow Creek Mill",
            delivery="D-17",
            row=4,
            heart_face=Face.B,
            colour_a=(52.1, 14.0, 22.5),
        )
        work.readings.add(
            [
                MoistureReading(board, NOON.date(), 12.0, 11.0, "pin meter", 18.0, "blackbutt row"),
                MoistureReading(board, NOON.date(), 99.0, 98.0),
            ]
        )
        wrong = work.readings.of_piece(board)[1]
        work.readings.void(wrong.id or 0, cause="touched a nail")
        plan = keep_plan(work, a_plan([board]))
        work.commit()
    allocate_plan(yard.open_work, plan)

    offcut = cut_plan(yard.open_work, plan).offcuts[0]

    assert (offcut.supplier, offcut.delivery, offcut.row) == ("Tallow Creek Mill", "D-17", 4)
    assert (offcut.place, offcut.species, offcut.heart_face) == ("rack 1", "spotted gum", Face.B)
    assert (offcut.colour_a, offcut.colour_b) == ((52.1, 14.0, 22.5), None)
    assert (offcut.moisture_pct, offcut.moisture_on) == (11.0, NOON.date())
    with yard.open_work(reading=True) as work:
        (reading,) = work.readings.of_piece(offcut.number)
        assert (reading.copied_from, reading.raw_pct, reading.meter, reading.rule) == (
            board,
            12.0,
            "pin meter",
            "blackbutt row",
        )


def test_a_spoiled_stave_is_borne_by_the_job(yard: Yard) -> None:
    plan, boards = allocated(yard, boards=2)

    record = cut_plan(yard.open_work, plan, spoiled=[("top", 1)])

    assert [stave.parent for stave in record.staves] == [boards[0]]
    (lost,) = record.spoiled
    assert (lost.panel, lost.stave, lost.board) == ("top", 1, boards[1])
    assert total(record.pieces) + lost.value == record.value_in
    with yard.open_work(reading=True) as work:
        assert work.movements.job_cost("hall-bench") == lost.value > 0
        *_, movement = work.movements.of_plan(plan)
        assert f"spoiled: stave 2 of top from {boards[1]}" in movement.cause
        assert [line.job for line in movement.lines if line.account is Account.JOBS] == ["hall-bench"]
        assert proved(work)


def test_an_offcut_not_kept_carries_nothing(yard: Yard) -> None:
    plan, (board,) = allocated(yard)

    record = cut_plan(yard.open_work, plan, not_kept=[(board, 0)])

    assert record.offcuts == ()
    assert record.staves[0].value == Decimal("48.00")


def test_a_board_all_spoiled_and_nothing_kept_is_borne_by_the_job(yard: Yard) -> None:
    plan, (board,) = allocated(yard)

    record = cut_plan(yard.open_work, plan, spoiled=[("top", 0)], not_kept=[(board, 0)])

    assert record.pieces == ()
    assert record.spoiled[0].value == Decimal("48.00")
    with yard.open_work(reading=True) as work:
        assert proved(work)


def test_what_the_plan_does_not_have_is_refused_all_at_once(sqlite_yard: Yard) -> None:
    plan, _ = allocated(sqlite_yard)

    with pytest.raises(BadInput) as caught:
        cut_plan(sqlite_yard.open_work, plan, spoiled=[("top", 4), ("side", 0)], not_kept=[("SG-0009", 0)])

    assert [fault.found for fault in caught.value.faults] == [
        "stave 1 of side",
        "stave 5 of top",
        "offcut 1 of SG-0009",
    ]
    with sqlite_yard.open_work(reading=True) as work:
        assert work.plans.get(plan).status is PlanStatus.ALLOCATED


def test_cutting_waits_for_a_step_that_comes_first(yard: Yard) -> None:
    plan, (board,) = allocated(yard, treat="thin cyanoacrylate")
    with pytest.raises(StepOpen, match=f"stabilise {board}/1 with thin cyanoacrylate"):
        cut_plan(yard.open_work, plan)

    complete_step(yard.open_work, 1, product="thin CA")
    record = cut_plan(yard.open_work, plan)

    with yard.open_work(reading=True) as work:
        for piece in record.pieces:
            assert work.defects.of_piece(piece.number)[0].state is DefectState.STABILISED


def test_told_to_go_on_the_step_follows_its_defect_into_the_stave(yard: Yard) -> None:
    plan, _ = allocated(yard, treat="thin cyanoacrylate")

    record = cut_plan(yard.open_work, plan, force_open_steps=True)

    (step,) = record.open_steps
    stave = record.staves[0].number
    assert (step.piece, step.defect, step.state) == (stave, f"{stave}/1", StepState.OPEN)
    complete_step(yard.open_work, step.id or 0, product="thin CA")
    with yard.open_work(reading=True) as work:
        assert work.defects.get(f"{stave}/1").state is DefectState.STABILISED
        assert work.defects.of_piece(record.offcuts[0].number)[0].state is DefectState.OPEN


def test_filling_may_wait_until_the_stave_is_cut(sqlite_yard: Yard) -> None:
    plan, _ = allocated(sqlite_yard, treat="epoxy")

    record = cut_plan(sqlite_yard.open_work, plan)

    assert [step.piece for step in record.open_steps] == [record.staves[0].number]


def test_a_step_of_a_spoiled_stave_is_dropped(sqlite_yard: Yard) -> None:
    plan, _ = allocated(sqlite_yard, treat="epoxy")

    record = cut_plan(sqlite_yard.open_work, plan, spoiled=[("top", 0)])

    assert record.open_steps == ()


def test_only_an_allocated_plan_is_cut_and_only_once(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        plan = keep_plan(work, a_plan(receive(work)))
        work.commit()
    with pytest.raises(Refused, match="allocate it first"):
        cut_plan(sqlite_yard.open_work, plan)
    allocate_plan(sqlite_yard.open_work, plan)
    cut_plan(sqlite_yard.open_work, plan)

    with pytest.raises(Refused, match="it is cut already"):
        cut_plan(sqlite_yard.open_work, plan)


def test_a_board_found_shorter_no_longer_holds_its_stave(sqlite_yard: Yard) -> None:
    plan, (board,) = allocated(sqlite_yard)
    with sqlite_yard.open_work() as work:
        work.pieces.change(board, length_mm=1230.0)
        work.commit()

    with pytest.raises(PlanOutOfDate, match=f"{board} is 1230 x 180 mm"):
        cut_plan(sqlite_yard.open_work, plan)


@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    value=st.decimals(0, 5000, places=2),
    offcut_worth=st.decimals(0, 6000, places=2),
    policy=st.sampled_from(OffcutPolicy),
    spoiled=st.booleans(),
    kept=st.booleans(),
)
def test_no_cent_is_lost_whatever_happens_at_the_saw(
    sqlite_yard: Yard, value: Decimal, offcut_worth: Decimal, policy: OffcutPolicy, spoiled: bool, kept: bool
) -> None:
    with sqlite_yard.open_work() as work:
        work.workshop.set(OFFCUT_POLICY, policy)
        boards = receive(work, 2, value=str(value))
        plan = keep_plan(work, a_plan(boards, offcut_value=str(offcut_worth)))
        work.commit()
    allocate_plan(sqlite_yard.open_work, plan)

    record: CutRecord = cut_plan(
        sqlite_yard.open_work,
        plan,
        spoiled=[("top", 0)] if spoiled else [],
        not_kept=[] if kept else [(boards[1], 0)],
    )

    lost = sum((each.value for each in record.spoiled), Decimal(0))
    assert total(record.pieces) + lost == record.value_in == 2 * value
    with sqlite_yard.open_work(reading=True) as work:
        assert proved(work)


def test_a_stave_is_kept_as_wide_as_it_came_off_the_saw(yard: Yard) -> None:
    plan, (board,) = allocated(yard)

    record = cut_plan(yard.open_work, plan, widths_mm={("top", 0): 137.6}, racked={(board, 0): "offcut bin"})

    (stave,), (offcut, *_) = record.staves, record.offcuts
    assert (stave.width_mm, stave.window) == (138, Window(20, 0, 1240, 138))
    assert offcut.place == "offcut bin"
    assert total(record.pieces) == record.value_in
    with yard.open_work(reading=True) as work:
        assert proved(work)


@pytest.mark.parametrize("width_mm", [0.4, 5_000, float("nan")])
def test_a_width_that_the_board_does_not_hold_is_refused(yard: Yard, width_mm: float) -> None:
    plan, (board,) = allocated(yard)
    with pytest.raises(BadInput) as refused:
        cut_plan(yard.open_work, plan, widths_mm={("top", 0): width_mm})
    assert refused.value.faults[0].where == "width of stave 1 of top"
    with yard.open_work(reading=True) as work:
        assert work.pieces.get(board).on_hand
