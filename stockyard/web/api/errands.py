"""Errands: long work, how far it is, and asking it to stop."""

from typing import Annotated

from fastapi import Query
from fastapi.responses import JSONResponse, Response

from stockyard.services.errands import list_errands, show_errand, stop_errand
from stockyard.web.api.routes import Api, Given, Limit, Whole
from stockyard.web.errand_words import errand_json
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("errands")


@api.get("/api/errands")
def errands(
    visit: Here,
    under_way: Annotated[bool, Query(description="Only those not over.")] = False,
    limit: Limit = 60,
) -> Response:
    """Errands, the newest first."""
    found = list_errands(visit.open_work, under_way=under_way, limit=limit)
    return answer_with_tag(visit.request, {"errands": [errand_json(each) for each in found]})


@api.get("/api/errands/{number}")
def errand(visit: Here, number: Whole) -> Response:
    """One errand: its state, how far it is, and what came of it."""
    return answer_with_tag(visit.request, errand_json(show_errand(visit.open_work, number)))


class Stopping(Given):
    """keep: end with the best so far, as plans do; otherwise leave nothing."""

    keep: bool = True


@api.post("/api/errands/{number}/stop")
def stop(visit: Here, number: Whole, given: Stopping) -> Response:
    """Ask an errand to stop; one that is over stays as it is."""
    return JSONResponse(errand_json(stop_errand(visit.open_work, number, keep=given.keep)))
