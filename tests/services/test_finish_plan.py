from collections.abc import Collection
from decimal import Decimal

import pytest

from stockyard.errors import BadInput, Refused, StepOpen
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.check_books import check_books
from stockyard.services.cut_plan import cut_plan
from stockyard.services.dispose_board import dispose_board
from stockyard.services.finish_plan import finish_plan
from stockyard.services.job_cost import add_time, job_cost, keep_quote
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.supplies import add_supply, buy_supply, use_supply
from stockyard.timber import DefectKind, Face
from tests.stocking import a_plan, keep_plan, receive


def promised(yard: Yard, boards: int = 2) -> int:
    with yard.open_work() as work:
        number = keep_plan(work, a_plan(receive(work, boards)))
        work.commit()
    allocate_plan(yard.open_work, number)
    return number


def cut(yard: Yard, boards: int = 2, spoiled: Collection[tuple[str, int]] = ()) -> int:
    number = promised(yard, boards)
    cut_plan(yard.open_work, number, spoiled=spoiled)
    return number


def test_a_finished_panel_takes_its_staves_out_of_the_stock_and_the_job_bears_them(yard: Yard) -> None:
    number = cut(yard)

    done = finish_plan(yard.open_work, number)

    assert (done.panels, len(done.staves), done.job) == (("top",), 2, "hall-bench")
    with yard.open_work(reading=True) as work:
        assert work.movements.job_cost("hall-bench") == done.value > 0
        assert all(work.pieces.get(stave).ended_by == "finish" for stave in done.staves)
        assert sum(piece.value for piece in work.pieces.find()) == Decimal("96.00") - done.value
    assert check_books(yard.open_work).disagreements == ()


def test_a_panel_finished_by_mistake_is_taken_back(sqlite_yard: Yard) -> None:
    done = finish_plan(sqlite_yard.open_work, cut(sqlite_yard))

    reverse_movement(sqlite_yard.open_work, done.movement, reason="glue-up came apart")

    with sqlite_yard.open_work(reading=True) as work:
        assert work.movements.job_cost("hall-bench") == 0
        assert {work.pieces.get(stave).status.value for stave in done.staves} == {"in work"}
    assert check_books(sqlite_yard.open_work).disagreements == ()


def test_only_what_is_cut_and_has_staves_left_is_finished(sqlite_yard: Yard) -> None:
    number = promised(sqlite_yard)
    with pytest.raises(Refused, match="only what is cut"):
        finish_plan(sqlite_yard.open_work, number)
    cut_plan(sqlite_yard.open_work, number)
    with pytest.raises(BadInput, match="one that has staves: top"):
        finish_plan(sqlite_yard.open_work, number, panels=["side"])
    finish_plan(sqlite_yard.open_work, number)
    with pytest.raises(Refused, match="no staves left"):
        finish_plan(sqlite_yard.open_work, number)


def test_a_stave_spoiled_after_cutting_is_a_cost_of_its_job_and_not_a_loss(sqlite_yard: Yard) -> None:
    cut(sqlite_yard)
    with sqlite_yard.open_work(reading=True) as work:
        stave = next(piece for piece in work.pieces.find() if piece.kind.value == "stave")

    dispose_board(sqlite_yard.open_work, stave.number, reason="split in the clamps")

    with sqlite_yard.open_work(reading=True) as work:
        assert work.movements.job_cost("hall-bench") == stave.value
    line = next(line for line in job_cost(sqlite_yard.open_work, "hall-bench").lines if line.what == "timber")
    assert f"spoiled {stave.value}" in line.how
    assert check_books(sqlite_yard.open_work).disagreements == ()


def test_a_jobs_actual_cost_stands_beside_its_quote(sqlite_yard: Yard) -> None:
    """Two boards of 48.00, each cut into a stave of 1220 x 140 and an offcut of 1157 x 180."""
    number = promised(sqlite_yard)
    _, kept = keep_quote(sqlite_yard.open_work, "hall-bench", more_minutes=Decimal(60))
    cut_plan(sqlite_yard.open_work, number, spoiled={("top", 0)})
    add_supply(sqlite_yard.open_work, "PVA glue", kind="glue", unit="g")
    add_supply(sqlite_yard.open_work, "screws 8g", kind="fastener", unit="each")
    buy_supply(sqlite_yard.open_work, "PVA glue", Decimal(1000), cost=Decimal(14), supplier="Brolga Fixings")
    buy_supply(sqlite_yard.open_work, "screws 8g", Decimal(200), cost=Decimal(20), supplier="Brolga Fixings")
    use_supply(sqlite_yard.open_work, "PVA glue", Decimal(150), job="hall-bench")
    use_supply(sqlite_yard.open_work, "screws 8g", Decimal(12), job="hall-bench")
    add_time(sqlite_yard.open_work, "hall-bench", 90)
    add_time(sqlite_yard.open_work, "hall-bench", -15, note="lunch")

    told = job_cost(sqlite_yard.open_work, "hall-bench")

    shared = 1220 * 140 + 1157 * 180
    stave = round(Decimal(48) * 1220 * 140 / shared, 2)
    lines = {line.what: line for line in told.lines}
    assert lines["timber"].actual == 2 * stave
    assert lines["timber"].quoted == Decimal("48.00")  # the plan's own figure for its timber
    assert lines["glue"].actual == Decimal("2.10")  # 150 g at 14.00 a kilogram
    assert lines["other consumables"].actual == Decimal("1.20")
    assert lines["labour"].actual == Decimal("100.00")  # 75 minutes at 80 an hour, the default
    assert told.actual == 2 * stave + Decimal("103.30")
    assert told.quoted == Decimal(kept.document["cost"])
    assert told.ledger == stave + Decimal("3.30")  # one stave is spoiled, the other is in work still
    assert told.profit == Decimal(kept.document["price"]) - told.actual
    assert any("1 staves are in work" in note for note in told.notes)
    finish_plan(sqlite_yard.open_work, number)
    again = job_cost(sqlite_yard.open_work, "hall-bench")
    assert (again.actual, again.ledger) == (told.actual, 2 * stave + Decimal("3.30"))
    assert check_books(sqlite_yard.open_work).disagreements == ()


def test_without_a_kept_quote_nothing_is_compared(sqlite_yard: Yard) -> None:
    promised(sqlite_yard)

    told = job_cost(sqlite_yard.open_work, "hall-bench")

    assert (told.quote, told.quoted, told.profit) == (None, None, None)
    assert all(line.over is None for line in told.lines)
    assert any("2 boards worth 96.00 are promised" in note for note in told.notes)
    assert any("No quote was kept" in note for note in told.notes)


def test_no_more_time_is_taken_back_than_was_noted(sqlite_yard: Yard) -> None:
    promised(sqlite_yard)
    with pytest.raises(Refused, match="0 minutes noted"):
        add_time(sqlite_yard.open_work, "hall-bench", -1)
    with pytest.raises(BadInput, match="minutes"):
        add_time(sqlite_yard.open_work, "hall-bench", 0)


def test_an_open_treatment_comes_before_the_glue(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        boards = receive(work, 1)
        work.commit()
    crack = Sketch(kind=DefectKind.CRACK, face=Face.A, line=[(40, 40), (180, 46)], opening_mm=0.4)
    add_defect(sqlite_yard.open_work, boards[0], crack)
    with sqlite_yard.open_work() as work:
        number = keep_plan(work, a_plan(boards, treat="thin cyanoacrylate"))
        work.commit()
    allocate_plan(sqlite_yard.open_work, number)
    cut_plan(sqlite_yard.open_work, number, force_open_steps=True)

    with pytest.raises(StepOpen, match="treatments open"):
        finish_plan(sqlite_yard.open_work, number)
    assert finish_plan(sqlite_yard.open_work, number, force_open_steps=True).staves


def test_a_quote_that_counted_on_another_plan_is_told_as_such(sqlite_yard: Yard) -> None:
    cut(sqlite_yard)
    other = promised(sqlite_yard)
    keep_quote(sqlite_yard.open_work, "hall-bench", plan=other)

    assert any(
        f"counted on plan {other}" in note for note in job_cost(sqlite_yard.open_work, "hall-bench").notes
    )
