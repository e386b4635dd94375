"""Select from files alone, with no yard: a stock and a job go in, a plan comes out."""

from collections.abc import Callable
from typing import Any

from stockyard.selection import Progress, plan_document, select
from stockyard.services.problem import NOTHING_ASKED, Asked, problem_from_files, wishes_of
from stockyard.timber import Plan, Stock


def select_from_files(
    stock_content: bytes,
    job_content: bytes,
    *,
    seconds: float = 30.0,
    on_progress: Callable[[Progress], bool | None] | None = None,
    asked: Asked = NOTHING_ASKED,
) -> tuple[Plan, Stock, dict[str, Any]]:
    """The plan for a stockyard.job/1 from a stockyard.stock/1, with the stock and its stockyard.plan/1.

    seconds: how long to search at most. asked: boards to pin, forbid and prefer. Raises BadInput with every
    fault of both documents, or of the wishes.
    """
    problem = problem_from_files(stock_content, job_content)
    stock, wishes = problem.stock, wishes_of(problem, asked)
    plan = select(stock, problem.job, seconds=seconds, on_progress=on_progress, wishes=wishes)
    return plan, stock, plan_document(plan, stock)
