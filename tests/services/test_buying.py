"""What the accounts say to whoever buys: needs, prices, recovery and reorder points."""

from datetime import date
from decimal import Decimal

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.selection.interchange import job_document
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.job_needs import job_needs
from stockyard.services.reorder import list_reorder_points, set_supply_point, set_timber_point
from stockyard.services.reverse_movement import reverse_movement
from stockyard.services.supplies import add_supply, buy_supply
from stockyard.services.timber_prices import timber_prices
from stockyard.services.timber_recovery import timber_recovery
from tests.builders import a_job, a_panel
from tests.services.yards import SPOTTED_GUM, receive
from tests.stocking import a_plan, keep_plan

BOARD = 2400 * 180 * 32
STAVE = 1220 * 140 * 32
OFFCUT = 1157 * 180 * 32
"""What `a_plan` takes from a board and leaves of it. [mm3]"""


def cut(yard: Yard, *, spoiled: bool = False) -> int:
    """Two boards of 48.00 from Riverbend Mill, cut for hall-bench. Returns the plan."""
    numbers = [piece.number for piece in receive(yard, SPOTTED_GUM, SPOTTED_GUM).pieces]
    with yard.open_work() as work:
        plan = keep_plan(work, a_plan(numbers))
        work.commit()
    allocate_plan(yard.open_work, plan)
    cut_plan(yard.open_work, plan, spoiled={("top", 0)} if spoiled else ())
    return plan


def test_recovery_is_told_by_supplier_species_and_job(yard: Yard) -> None:
    cut(yard)

    (line,) = timber_recovery(yard.open_work, ("supplier", "species", "job"))

    assert line.key == ("Riverbend Mill", "spotted gum", "hall-bench")
    assert (line.boards, line.boards_mm3, line.staves_mm3, line.offcuts_mm3) == (
        2,
        2 * BOARD,
        2 * STAVE,
        2 * OFFCUT,
    )
    assert line.waste_mm3 == 2 * (BOARD - STAVE - OFFCUT)
    assert line.recovery == Decimal(STAVE) / (BOARD - OFFCUT)
    assert (line.value_in, line.spoiled) == (Decimal("96.00"), 0)


def test_a_spoiled_stave_is_waste_and_its_share_of_value_is_told(sqlite_yard: Yard) -> None:
    cut(sqlite_yard, spoiled=True)

    (line,) = timber_recovery(sqlite_yard.open_work, ("job",))

    assert line.staves_mm3 == STAVE
    assert line.spoiled == round(Decimal(48) * STAVE / (STAVE + OFFCUT), 2)


def test_a_cut_that_was_taken_back_is_not_counted(sqlite_yard: Yard) -> None:
    cut(sqlite_yard)
    with sqlite_yard.open_work(reading=True) as work:
        movement = work.movements.all()[-1].id or 0
    reverse_movement(sqlite_yard.open_work, movement, reason="wrong plan")

    assert timber_recovery(sqlite_yard.open_work, ("species",)) == ()


def test_recovery_of_no_group_or_backward_days_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        timber_recovery(sqlite_yard.open_work, ("colour",), since=date(2026, 3, 2), until=date(2026, 3, 1))
    assert {fault.where for fault in refused.value.faults} == {"--by", "--from"}


def test_prices_are_told_per_cubic_metre_as_landed_whatever_was_measured_since(yard: Yard) -> None:
    """2400 x 180 x 32 mm is 0.013824 m3: 48.00 for it is 3472.22 a cubic metre."""
    receive(yard, SPOTTED_GUM, SPOTTED_GUM, "blackbutt,2000,100,25,20.00", docket="1")
    receive(yard, "spotted gum,2400,180,32,60.00", docket="2", day=date(2026, 2, 20))
    receive(yard, SPOTTED_GUM, docket="3")
    with yard.open_work() as work:
        newest = work.movements.all()[-1].id or 0
        work.pieces.change("SG-0001", width_mm=150.0)
        work.commit()
    reverse_movement(yard.open_work, newest, reason="sent back")

    told = timber_prices(yard.open_work, species="spotted gum")

    assert [(each.docket, each.pieces, each.volume_mm3, each.per_m3) for each in told] == [
        ("1", 2, 2 * BOARD, Decimal("3472.22")),
        ("2", 1, BOARD, Decimal("4340.28")),
    ]
    assert len(timber_prices(yard.open_work, supplier="riverbend mill")) == 3
    with pytest.raises(NotFound):
        timber_prices(yard.open_work, supplier="Riverbed Mill")


def test_open_jobs_need_what_no_plan_has_boards_for(yard: Yard) -> None:
    """A top of 1200 x 380 x 24 mm, planed 1.5 mm a face: 0.012312 m3 net at 27 mm."""
    cut(yard)
    with yard.open_work() as work:
        work.jobs.keep("desk", job_document(a_job(a_panel(), a_panel(id="shelf", width_mm=190), id="desk")))
        work.commit()

    (need,) = job_needs(yard.open_work)

    assert [(panel.job, panel.panel) for panel in need.panels] == [("desk", "top"), ("desk", "shelf")]
    assert need.net_mm3 == 1200 * 27 * (380 + 190)
    assert need.own
    assert need.recovery == Decimal(STAVE) / (BOARD - OFFCUT)
    assert round(need.gross_mm3, 6) == round(need.net_mm3 / need.recovery, 6)
    assert need.width_mm == 180
    assert need.metres is not None
    assert round(need.metres, 9) == round(need.gross_mm3 / 27 / 180 / 1000, 9)
    assert need.free_mm3 == 2 * OFFCUT
    assert job_needs(yard.open_work, "hall-bench") == ()


def test_without_own_cutting_the_habit_of_waste_is_reckoned_with(sqlite_yard: Yard) -> None:
    """The default adds 20 % to the net."""
    with sqlite_yard.open_work() as work:
        work.jobs.keep("desk", job_document(a_job(a_panel(), id="desk")))
        work.commit()

    (need,) = job_needs(sqlite_yard.open_work, "desk")

    assert not need.own
    assert round(need.gross_mm3 / need.net_mm3, 9) == Decimal("1.2")
    assert (need.width_mm, need.metres) == (None, None)


def test_what_is_below_its_reorder_point_is_told_first(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, "spotted gum,3000,150,32,50.00", "spotted gum,3000,150,25,50.00")
    add_supply(yard.open_work, "PVA glue", kind="glue", unit="g")
    buy_supply(yard.open_work, "PVA glue", Decimal(400), cost=Decimal(6), supplier="Brolga Fixings")
    set_timber_point(yard.open_work, "spotted gum", 32, Decimal(5))
    points = set_supply_point(yard.open_work, "pva glue", Decimal(500))

    assert [(each.what, each.there, each.at, each.unit, each.low) for each in points] == [
        ("PVA glue", Decimal(400), Decimal(500), "g", True),
        ("spotted gum", Decimal("5.4"), Decimal(5), "m", False),
    ]
    set_supply_point(yard.open_work, "PVA glue", Decimal(0))
    assert [each.what for each in list_reorder_points(yard.open_work)] == ["spotted gum"]
    with yard.open_work(reading=True) as work:
        assert len(work.workshop.history("reorder_points")) == 3


def test_a_reorder_point_that_cannot_be_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        set_timber_point(sqlite_yard.open_work, "spotted gum", 0, Decimal(-1))
    assert {fault.where for fault in refused.value.faults} == {"thickness", "at least"}
    with pytest.raises(NotFound):
        set_supply_point(sqlite_yard.open_work, "glue", Decimal(1))
