"""Sheets: everything that can be printed, and what of it is at true scale."""

from fastapi.responses import Response

from stockyard.drawings.label import A4_STOCKS
from stockyard.errors import BadInput, NotFound
from stockyard.services.check_delivery import list_deliveries
from stockyard.services.jobs import list_jobs
from stockyard.services.look_along_rack import signs_on_rack
from stockyard.services.plan_job import plan_heads
from stockyard.web.screen import Screen
from stockyard.web.sheet_kinds import as_answer, draw_sheet
from stockyard.web.visit import Here, Visit

screen = Screen("sheets", "/sheets")

_MOST = 200


@screen.page("/sheets")
def sheets(visit: Here) -> Response:
    """What can be printed."""
    return _page(visit)


@screen.page("/sheets/{kind}.pdf")
def sheet(visit: Here, kind: str) -> Response:
    """One sheet as a PDF; where it cannot be drawn, the page again with why."""
    address = str(visit.request.url.replace(path="/board/", query=""))
    try:
        return as_answer(draw_sheet(visit.open_work, kind, visit.request.query_params, address))
    except (BadInput, NotFound) as refused:
        return _page(visit, kind, refused)


def _page(visit: Visit, kind: str = "", refused: BadInput | NotFound | None = None) -> Response:
    plans = sorted(plan_heads(visit.open_work), key=lambda plan: -plan.number)[:_MOST]
    status = 200 if refused is None else 404 if isinstance(refused, NotFound) else 422
    return visit.page(
        "sheets.html",
        status=status,
        asked=visit.request.query_params,
        wrong=kind,
        refused=refused,
        plans=[(str(plan.number), plan) for plan in plans],
        jobs=[job.name for job in list_jobs(visit.open_work)],
        deliveries=list(list_deliveries(visit.open_work))[-_MOST:][::-1],
        places=signs_on_rack(visit.open_work).places,
        sizes=[stock.name for stock in A4_STOCKS],
    )
