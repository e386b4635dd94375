"""Plan a job from what is on the rack: choose the boards, and keep the plan with what it was made from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.selection import Progress, plan_document, read_stock, select
from stockyard.selection.interchange import stock_document
from stockyard.services.allocate_plan import plan_of
from stockyard.services.jobs import job_of
from stockyard.timber import Board, Job, Plan, Stock
from stockyard.timber.booked_plan import BookedPlan
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

__all__ = ["RACK", "KeptPlan", "Progress", "list_plans", "plan_job", "show_plan"]

RACK = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), status=(PieceStatus.FREE, PieceStatus.PROMISED))
"""Everything a selection looks at; what is promised already is named as such and left alone."""


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan in the books, its values, and the boards as it saw them."""

    booked: BookedPlan
    plan: Plan
    boards: dict[str, Board]


def plan_job(
    open_work: "OpenWork",
    name: str,
    *,
    seconds: float = 30.0,
    on_progress: Callable[[Progress], bool | None] | None = None,
) -> KeptPlan:
    """Select boards for a job and keep the plan as proposed.

    seconds: how long to search at most. The search holds no transaction; allocation checks again that every
    board is still as the plan saw it. Raises NotFound for no such job, BadInput when its document no longer
    reads.
    """
    with open_work(reading=True) as work:
        job, stock, versions = _problem(work, name)
    plan = select(stock, job, seconds=seconds, on_progress=on_progress)
    with open_work() as work:
        booked = work.plans.add(
            name,
            plan_document(plan, stock),
            stock_document(stock),
            {cut.id: versions[cut.id] for cut in plan.boards},
        )
        work.commit()
    return KeptPlan(booked, plan, {board.id: board for board in stock.boards})


def list_plans(open_work: "OpenWork", job: str | None = None) -> tuple[BookedPlan, ...]:
    """Every plan by number, or those of one job."""
    with open_work(reading=True) as work:
        return tuple(work.plans.find(job=job))


def show_plan(open_work: "OpenWork", number: int) -> KeptPlan:
    """A plan as it was made, with the boards as it saw them.

    Raises NotFound for no such plan.
    """
    with open_work(reading=True) as work:
        booked = work.plans.get(number)
        plan = plan_of(work, booked)
    stock = read_stock(dict(booked.stock))
    return KeptPlan(booked, plan, {board.id: board for board in stock.boards})


def _problem(work: "UnitOfWork", name: str) -> tuple[Job, Stock, dict[str, int]]:
    job = job_of(work, work.jobs.get(name))
    pieces = work.pieces.find(RACK)
    stock = Stock(
        boards=tuple(work.pieces.boards_for_selection(RACK)),
        currency=work.workshop.currency,
        reserved={
            piece.number: f"promised to plan {piece.promised_to}"
            for piece in pieces
            if piece.promised_to is not None
        },
    )
    return job, stock, {piece.number: piece.version for piece in pieces}
