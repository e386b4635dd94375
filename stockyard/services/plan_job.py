"""Plan a job from what is on the rack: choose the boards, and keep the plan with what it was made from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.selection import Progress, plan_document, read_stock, select
from stockyard.selection.interchange import stock_document
from stockyard.services.allocate_plan import plan_of
from stockyard.services.problem import NOTHING_ASKED, RACK, Asked, problem_in_yard, wishes_of
from stockyard.timber import Board, Plan
from stockyard.timber.booked_plan import BookedPlan, PlanHead, PlanStatus

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork

__all__ = ["RACK", "KeptPlan", "Progress", "list_plans", "plan_heads", "plan_job", "show_plan"]


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
    asked: Asked = NOTHING_ASKED,
) -> KeptPlan:
    """Select boards for a job and keep the plan as proposed.

    seconds: how long to search at most. The search holds no transaction; allocation checks again that every
    board is still as the plan saw it. asked: boards to pin, forbid and prefer. Raises NotFound for no such
    job, BadInput when its document no longer reads or a wish cannot be meant.
    """
    problem = problem_in_yard(open_work, name)
    stock, wishes = problem.stock, wishes_of(problem, asked)
    plan = select(stock, problem.job, seconds=seconds, on_progress=on_progress, wishes=wishes)
    with open_work() as work:
        booked = work.plans.add(
            name,
            plan_document(plan, stock),
            stock_document(stock),
            {cut.id: problem.versions[cut.id] for cut in plan.boards},
        )
        work.commit()
    return KeptPlan(booked, plan, {board.id: board for board in stock.boards})


def list_plans(open_work: "OpenWork", job: str | None = None) -> tuple[BookedPlan, ...]:
    """Every plan by number, or those of one job."""
    with open_work(reading=True) as work:
        return tuple(work.plans.find(job=job))


def plan_heads(open_work: "OpenWork") -> tuple[PlanHead, ...]:
    """Every plan by number, without its document, which may be large."""
    with open_work(reading=True) as work:
        return tuple(work.plans.heads(*PlanStatus))


def show_plan(open_work: "OpenWork", number: int, *, only_used: bool = False) -> KeptPlan:
    """A plan as it was made, with the boards as it saw them.

    only_used: leave out boards that it does not use, which may be most of a large rack.
    Raises NotFound for no such plan.
    """
    with open_work(reading=True) as work:
        booked = work.plans.get(number)
        plan = plan_of(work, booked)
    saw = dict(booked.stock)
    if only_used:
        # Staves that were cut before stand in the panels of a plan made again, though it does not cut them.
        used = set(booked.seen) | {stave.board for made in plan.panels for stave in made.staves}
        saw["boards"] = [board for board in saw["boards"] if board["id"] in used]
    stock = read_stock(saw)
    return KeptPlan(booked, plan, {board.id: board for board in stock.boards})
