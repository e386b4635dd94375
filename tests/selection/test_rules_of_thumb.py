"""The trade's rules of thumb for panels, as a job. Common practice, with no published source.

Three boards make a panel 450 mm wide and 1800 mm long; a carcass of it has side panels 300 and 420 mm high.
"""

from decimal import Decimal
from typing import Any

from stockyard.selection import check_plan, select
from stockyard.timber import Board, Costs, Job, Panel, Plan, Status, Stock
from tests.builders import a_board, a_panel

THREE: dict[str, Any] = {
    "staves_min": 3,
    "staves_max": 3,
    "stave_width_min_mm": 100,
    "stave_width_max_mm": 160,
}
NO_EXTRAS = Costs(handling=Decimal(0), recovery=Decimal(0), match=Decimal(0), ring_break=Decimal(0))


def a_rule_of_thumb_panel(name: str, length_mm: float, width_mm: float = 450) -> Panel:
    return a_panel(id=name, length_mm=length_mm, width_mm=width_mm, thickness_mm=26, **THREE)


def boards(count: int, **changes: Any) -> tuple[Board, ...]:
    return tuple(a_board(id=f"SG-{n:04d}", **changes) for n in range(1, count + 1))


def planned(job: Job, stock: Stock) -> Plan:
    plan = select(stock, job, seconds=20)
    assert check_plan(plan, stock) == ()
    return plan


def test_three_boards_of_160_make_a_top_of_450_by_1800() -> None:
    # 3 x 160 less two edges trimmed by 5 and four jointed by 3 is 458, so 450 is there with 8 mm to spare.
    stock = Stock(boards(3, length_mm=1900, width_mm=160))
    plan = planned(Job("top", (a_rule_of_thumb_panel("top", 1800),), costs=NO_EXTRAS), stock)
    assert plan.status is Status.OPTIMAL
    assert sum(stave.finished.width_mm for stave in plan.panels[0].staves) == 450
    assert {stave.board for stave in plan.panels[0].staves} == {"SG-0001", "SG-0002", "SG-0003"}


def test_two_boards_do_not() -> None:
    stock = Stock(boards(2, length_mm=1900, width_mm=160))
    plan = planned(Job("top", (a_rule_of_thumb_panel("top", 1800),), costs=NO_EXTRAS), stock)
    assert plan.status is Status.INFEASIBLE
    assert plan.panels[0].why


def test_almost_no_length_to_spare_is_enough_and_a_millimetre_less_is_not() -> None:
    # 1800 finished, 10 trimmed off each end, 20 docked off each end of the board.
    panel = a_rule_of_thumb_panel("top", 1800)
    enough = Stock(boards(3, length_mm=1860, width_mm=160))
    short = Stock(boards(3, length_mm=1859, width_mm=160))
    assert planned(Job("top", (panel,), costs=NO_EXTRAS), enough).panels[0].made
    assert not planned(Job("top", (panel,), costs=NO_EXTRAS), short).panels[0].made


def test_the_sides_of_300_and_420_come_out_of_what_the_top_leaves() -> None:
    # A board of 2700 gives a stave of 1820, a cut of 3, and 837 more: a 440 and a 320 with their cuts.
    stock = Stock(boards(3, length_mm=2700, width_mm=160, value=Decimal("60.00")))
    job = Job(
        "carcass",
        (
            a_rule_of_thumb_panel("top", 1800),
            a_rule_of_thumb_panel("high side", 420),
            a_rule_of_thumb_panel("low side", 300),
        ),
        costs=NO_EXTRAS,
    )
    plan = planned(job, stock)
    assert all(panel.made for panel in plan.panels)
    assert (plan.status, plan.cost) == (Status.OPTIMAL, Decimal(180))
