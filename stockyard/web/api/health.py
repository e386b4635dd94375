"""For whoever watches the server: does it answer, and figures for a scraper. Tells nothing of the stock."""

from fastapi.responses import JSONResponse, Response
from prometheus_client import CONTENT_TYPE_LATEST

from stockyard.services.errands import count_errands
from stockyard.web.access import Need
from stockyard.web.api.routes import Api
from stockyard.web.visit import Here

api = Api("health")


@api.get("/healthz", Need.NOTHING)
def healthz(visit: Here) -> Response:
    """Does the app answer, and its database? 503 where it does not."""
    count_errands(visit.open_work)
    return JSONResponse({"status": "ok"}, headers={"Cache-Control": "no-store"})


@api.get("/metrics", Need.NOTHING, include_in_schema=False)
def metrics(visit: Here) -> Response:
    """Requests, their times and errands by state, in the text format that scrapers read."""
    told = visit.request.app.state.metrics.text(count_errands(visit.open_work))
    return Response(told, headers={"Content-Type": CONTENT_TYPE_LATEST, "Cache-Control": "no-store"})
