"""Jobs: kept as stockyard.job/1 documents, and selected for."""

import json
from typing import Annotated, Any

from fastapi import Body, Path
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.measures.plain import plain
from stockyard.services.ask_why import why_board
from stockyard.services.errand_kinds import LONGEST_SELECTION
from stockyard.services.jobs import add_job, document_of, list_jobs, show_job
from stockyard.services.problem import problem_in_yard
from stockyard.web.api import shapes
from stockyard.web.api.routes import Api, Given
from stockyard.web.errand_words import errand_json
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("jobs")

Name = Annotated[str, Path(max_length=200, description="The job's id.")]


@api.get("/api/jobs")
def jobs(visit: Here) -> Response:
    """Every job as it was kept, by name."""
    return answer_with_tag(visit.request, {"jobs": [shapes.job(each) for each in list_jobs(visit.open_work)]})


@api.post("/api/jobs", status_code=201)
def keep(visit: Here, document: Annotated[dict[str, Any], Body()]) -> Response:
    """Keep a stockyard.job/1 document; under an id already known it becomes that job's next version."""
    booked = add_job(visit.open_work, json.dumps(document).encode())
    return JSONResponse(shapes.job(booked), 201)


@api.get("/api/jobs/{name}")
def job(visit: Here, name: Name) -> Response:
    """A job as kept, and in full with the workshop's habits filled in."""
    booked, read = show_job(visit.open_work, name)
    return answer_with_tag(visit.request, shapes.job(booked) | {"in_full": plain(document_of(read))})


Wishes = Annotated[list[Annotated[str, Field(max_length=300)]], Field(max_length=200)]


class Wanted(Given):
    """How long to search at most [s], and what is wished for.

    pin: "BOARD:PANEL", a stave of the board in that panel. forbid: "BOARD", left alone. prefer: "BOARD", as
    if paid for already, or "BOARD=AMOUNT", as if it cost so much less.
    """

    seconds: float = Field(default=30.0, ge=1, le=LONGEST_SELECTION)
    pin: Wishes = Field(default_factory=list)
    forbid: Wishes = Field(default_factory=list)
    prefer: Wishes = Field(default_factory=list)


@api.post("/api/jobs/{name}/select", status_code=202)
def select(visit: Here, name: Name, given: Annotated[Wanted | None, Body()] = None) -> Response:
    """Select boards for a job: an errand, whose progress and plan are read at its Location."""
    return _ask(visit, "select", name, given or Wanted())


class Choosing(Wanted):
    """As for a selection, and how many plans are offered at most."""

    count: int = Field(default=4, ge=2, le=20)


@api.post("/api/jobs/{name}/choices", status_code=202)
def choices(visit: Here, name: Name, given: Annotated[Choosing | None, Body()] = None) -> Response:
    """Search for several good plans: an errand whose result names each and what it costs more."""
    return _ask(visit, "choices", name, given or Choosing())


class Ranking(Wanted):
    """As for a selection, and the panel that boards are ranked for."""

    panel: str = Field(max_length=200)


@api.post("/api/jobs/{name}/suits", status_code=202)
def suits(visit: Here, name: Name, given: Annotated[Ranking, Body()]) -> Response:
    """Rank the boards for a panel: an errand whose result says what each adds, or why it does not suit."""
    return _ask(visit, "suits", name, given)


@api.get("/api/jobs/{name}/why/{board}")
def why(visit: Here, name: Name, board: Annotated[str, Path(max_length=80)]) -> Response:
    """How a board stands to each panel of a job: every reason against it, and the least that would help."""
    found = why_board(problem_in_yard(visit.open_work, name), board)
    return answer_with_tag(visit.request, {"board": board, "panels": [plain(each) for each in found]})


def _ask(visit: Here, kind: str, name: str, given: Wanted) -> Response:
    show_job(visit.open_work, name)
    errand = visit.ask_for(kind, {"job": name, **given.model_dump()})
    return JSONResponse(errand_json(errand), 202, {"Location": f"/api/errands/{errand.id}"})
