"""Boards on the rack and plans in the books, so that a test states only what it is about."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from stockyard.ledger import balanced
from stockyard.records import UnitOfWork
from stockyard.selection.interchange import job_document, plan_document, stock_document
from stockyard.timber import (
    BoardCut,
    CostParts,
    Face,
    MadePanel,
    Offcut,
    Plan,
    Section,
    Status,
    Stave,
    Stock,
    Strip,
    StripUse,
    Treatment,
    Window,
)
from stockyard.timber.delivery import Delivery
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, volume_mm3
from tests.builders import a_job, a_panel


def receive(work: UnitOfWork, count: int = 1, value: str = "48.00", **facts: Any) -> list[str]:
    """Receive boards of 2400 x 180 x 32 mm spotted gum, each worth `value`, and return their numbers."""
    made: dict[str, Any] = {
        "species": "spotted gum",
        "length_mm": 2400.0,
        "width_mm": 180.0,
        "thickness_mm": 32.0,
        "place": "rack 1",
    }
    made |= facts
    numbers = work.pieces.new_numbers(made["species"], count)
    work.pieces.add(Piece(number=number, **made) for number in numbers)
    volume = volume_mm3(made["length_mm"], made["width_mm"], made["thickness_mm"])
    lines = [Line(number, 1, 0, Decimal(value), volume) for number in numbers]
    work.movements.book(
        Movement(
            MovementKind.RECEIVE,
            balanced(lines, Account.SUPPLIERS),
            work.today,
            "bought",
            supplier=made.get("supplier"),
            docket=made.get("delivery"),
        )
    )
    return numbers


def a_delivery(**changes: Any) -> Delivery:
    """Docket D-17 of an invented mill."""
    values: dict[str, Any] = {
        "supplier": "Tallow Creek Mill",
        "docket": "D-17",
        "received_on": date(2026, 3, 2),
        "currency": "AUD",
    }
    return Delivery(**(values | changes))


def a_plan(
    boards: Iterable[str],
    treat: str | None = None,
    rough: Window = Window(20, 0, 1240, 140),  # noqa: B008
    offcut: Window = Window(1243, 0, 2400, 180),  # noqa: B008
    offcut_value: str = "11.20",
) -> Plan:
    """A plan that makes panel "top" with one stave out of each board, and leaves an offcut of each.

    treat: the method by which defect 1 of each board is treated.
    """
    boards = list(boards)
    finished = Window(rough.x0 + 10, rough.y0 + 5, rough.x1 - 10, rough.y1 - 5)
    staves = tuple(
        Stave(
            board,
            Face.A,
            False,
            finished,
            rough,
            (Treatment(f"{board}/1", treat, Decimal("2.00")),) if treat else (),
        )
        for board in boards
    )
    cuts = tuple(
        BoardCut(
            board,
            (Section(rough.x0, rough.x1, (Strip(StripUse.STAVE, rough.y0, rough.y1, "top", place),)),),
            (Offcut(offcut, Decimal(offcut_value)),),
        )
        for place, board in enumerate(boards)
    )
    panel = a_panel(staves_min=len(boards), staves_max=len(boards))
    return Plan(
        job=a_job(panel),
        currency="AUD",
        status=Status.OPTIMAL,
        cost_parts=CostParts(timber=Decimal("48.00")),
        bound=Decimal("48.00"),
        seconds=0.1,
        panels=(MadePanel("top", staves),),
        boards=cuts,
        rejected=(),
    )


def keep_plan(work: UnitOfWork, plan: Plan) -> int:
    """Keep a plan's job and the plan, as if just selected from everything on the rack. Returns its number."""
    stock = Stock(tuple(work.pieces.boards_for_selection()))
    work.jobs.keep(plan.job.id, job_document(plan.job))
    return work.plans.add(
        plan.job.id,
        plan_document(plan, stock),
        stock_document(stock),
        work.pieces.versions(cut.id for cut in plan.boards),
    ).number
