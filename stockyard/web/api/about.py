"""About the interface itself: its description, the problems it tells, and signing in for scripts."""

from typing import Any

from fastapi import Request
from fastapi.responses import JSONResponse, Response
from pydantic import Field

import stockyard
from stockyard.errors import NotLetIn
from stockyard.services import people
from stockyard.web.access import Need
from stockyard.web.api.routes import Api, Given
from stockyard.web.etags import answer_with_tag
from stockyard.web.problems import Problem, every_kind, tell
from stockyard.web.visit import Here

api = Api("about")


@api.get("/api", Need.NOTHING)
def about(visit: Here) -> Response:
    """Which version this is, and where the interface is described."""
    told = {"name": "Stockyard", "version": stockyard.__version__, "description": "/api/openapi.json"}
    return answer_with_tag(visit.request, told)


@api.get("/api/openapi.json", Need.READER, include_in_schema=False)
def description(visit: Here) -> Response:
    """The OpenAPI description of the whole interface."""
    document: dict[str, Any] = visit.request.app.openapi()
    return answer_with_tag(visit.request, document)


@api.get("/api/problems", Need.NOTHING)
def problems(visit: Here) -> Response:
    """Every kind of problem that is told, with its status and what it means."""
    return answer_with_tag(visit.request, {"problems": every_kind()})


class Showing(Given):
    """Who wants to be let in."""

    name: str = Field(max_length=200)
    password: str = Field(max_length=200)


@api.post("/api/sign-in", Need.NOTHING, also=(429,))
def sign_in(visit: Here, request: Request, given: Showing) -> Response:
    """Let a script in. Its token goes in `Authorization: Bearer ...` from then on."""
    address = request.client.host if request.client else ""
    try:
        token = people.sign_in(visit.open_work, given.name, given.password, address)
    except NotLetIn as refused:
        if not refused.wait_minutes:
            raise
        wait = {"Retry-After": str(refused.wait_minutes * 60)}
        return tell(request, Problem(429, "not-let-in", refused.message), wait)
    return JSONResponse({"token": token}, headers={"Cache-Control": "no-store"})
