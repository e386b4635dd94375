"""Select from files alone, with no yard: a stock and a job go in, a plan comes out."""

from collections.abc import Callable
from typing import Any

from stockyard.selection import Progress, plan_document, read_job, read_stock, select
from stockyard.timber import Plan, Stock


def select_from_files(
    stock_content: bytes,
    job_content: bytes,
    *,
    seconds: float = 30.0,
    on_progress: Callable[[Progress], bool | None] | None = None,
) -> tuple[Plan, Stock, dict[str, Any]]:
    """The plan for a stockyard.job/1 from a stockyard.stock/1, with the stock and its stockyard.plan/1.

    seconds: how long to search at most. Raises BadInput with every fault of both documents.
    """
    stock, job = read_stock(stock_content), read_job(job_content)
    plan = select(stock, job, seconds=seconds, on_progress=on_progress)
    return plan, stock, plan_document(plan, stock)
