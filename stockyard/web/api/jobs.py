"""Jobs: kept as stockyard.job/1 documents, and selected for."""

import json
from typing import Annotated, Any

from fastapi import Body, Path
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.services.errand_kinds import LONGEST_SELECTION
from stockyard.services.jobs import add_job, document_of, list_jobs, show_job
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
    return answer_with_tag(visit.request, shapes.job(booked) | {"in_full": shapes.plain(document_of(read))})


class Selection(Given):
    """How long to search at most. [s]"""

    seconds: float = Field(default=30.0, ge=1, le=LONGEST_SELECTION)


@api.post("/api/jobs/{name}/select", status_code=202)
def select(visit: Here, name: Name, given: Annotated[Selection | None, Body()] = None) -> Response:
    """Select boards for a job: an errand, whose progress and plan are read at its Location."""
    show_job(visit.open_work, name)
    seconds = (given or Selection()).seconds
    errand = visit.ask_for("select", {"job": name, "seconds": seconds})
    return JSONResponse(errand_json(errand), 202, {"Location": f"/api/errands/{errand.id}"})
