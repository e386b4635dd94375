"""Plans: as they were made, promised their boards, given up, and cut as it really went."""

from typing import Annotated, Any

from fastapi import Body, Query
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.plan_job import list_plans, show_plan
from stockyard.services.release_plan import release_plan
from stockyard.web.api import shapes
from stockyard.web.api.routes import Api, Given, Whole
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("plans")


@api.get("/api/plans")
def plans(visit: Here, job: Annotated[str | None, Query(max_length=200)] = None) -> Response:
    """Every plan without its document, by number."""
    found = list_plans(visit.open_work, job)
    return answer_with_tag(visit.request, {"plans": [shapes.plan(each) for each in found]})


@api.get("/api/plans/{number}")
def plan(visit: Here, number: Whole) -> Response:
    """One plan with its stockyard.plan/1 document."""
    return answer_with_tag(visit.request, shapes.plan(show_plan(visit.open_work, number).booked, whole=True))


@api.post("/api/plans/{number}/allocate")
def allocate(visit: Here, number: Whole) -> Response:
    """Promise all of a plan's boards to it, or none. Answers with the steps that must be done first."""
    steps = allocate_plan(visit.open_work, number)
    return JSONResponse({"plan": number, "steps": [shapes.plain(step) for step in steps]})


class Freed(Given):
    """Why a plan is given up."""

    because: str = ""


@api.post("/api/plans/{number}/release")
def release(visit: Here, number: Whole, given: Annotated[Freed | None, Body()] = None) -> Response:
    """Free the boards that a plan was promised."""
    booked = release_plan(visit.open_work, number, cause=given.because if given else "")
    return JSONResponse(shapes.plan(booked))


class Spoiled(Given):
    """A stave that was lost: which of its panel, from 0."""

    panel: str
    stave: int = Field(ge=0, le=10_000)


class NotKept(Given):
    """An offcut that was thrown away: its board, and which of its offcuts, from 0."""

    board: str
    offcut: int = Field(ge=0, le=10_000)


class Cut(Given):
    """How cutting really went. force: although steps that come first are still open."""

    spoiled: list[Spoiled] = Field(default_factory=list)
    not_kept: list[NotKept] = Field(default_factory=list)
    force: bool = False


@api.post("/api/plans/{number}/cut")
def cut(visit: Here, number: Whole, given: Annotated[Cut | None, Body()] = None) -> Response:
    """Book a plan as cut: boards end, staves and offcuts are new pieces, all to the cent."""
    how = given or Cut()
    record = cut_plan(
        visit.open_work,
        number,
        spoiled=[(each.panel, each.stave) for each in how.spoiled],
        not_kept=[(each.board, each.offcut) for each in how.not_kept],
        force_open_steps=how.force,
    )
    told: dict[str, Any] = {
        "plan": number,
        "staves": [shapes.piece(each) for each in record.staves],
        "offcuts": [shapes.piece(each) for each in record.offcuts],
    }
    return JSONResponse(told)
