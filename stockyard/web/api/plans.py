"""Plans: as they were made, promised their boards, given up, and cut as it really went."""

from typing import Annotated, Any

from fastapi import Body, Query
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.measures.plain import plain
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.cut_plan import cut_plan
from stockyard.services.errand_kinds import LONGEST_SELECTION
from stockyard.services.plan_job import list_plans, show_plan
from stockyard.services.release_plan import release_plan
from stockyard.services.swap_staves import swap_staves
from stockyard.web.api import shapes
from stockyard.web.api.routes import Api, Given, Whole
from stockyard.web.errand_words import errand_json
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
    return JSONResponse({"plan": number, "steps": [plain(step) for step in steps]})


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


class Width(Spoiled):
    """A stave that came off the saw wider or narrower than planned. [mm]"""

    width: float = Field(gt=0, le=3_000)


class Racked(NotKept):
    """An offcut, and where it was put."""

    place: str = Field(max_length=200)


class Cut(Given):
    """How cutting really went. force: although steps that come first are still open."""

    widths: list[Width] = Field(default_factory=list)
    racked: list[Racked] = Field(default_factory=list)
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
        widths_mm={(each.panel, each.stave): each.width for each in how.widths},
        racked={(each.board, each.offcut): each.place for each in how.racked},
        force_open_steps=how.force,
    )
    told: dict[str, Any] = {
        "plan": number,
        "staves": [shapes.piece(each) for each in record.staves],
        "offcuts": [shapes.piece(each) for each in record.offcuts],
    }
    return JSONResponse(told)


class Again(Given):
    """What was lost: staves of a plan that is cut, boards of one that is not. seconds: to search at most."""

    spoiled: list[Spoiled] = Field(default_factory=list, max_length=1000)
    without: list[Annotated[str, Field(max_length=80)]] = Field(default_factory=list, max_length=1000)
    seconds: float = Field(default=15.0, ge=1, le=LONGEST_SELECTION)


@api.post("/api/plans/{number}/again", status_code=202)
def again(visit: Here, number: Whole, given: Annotated[Again | None, Body()] = None) -> Response:
    """Plan again around what was lost: an errand, whose new plan and changes are read at its Location."""
    show_plan(visit.open_work, number)
    asked = given or Again()
    spoiled = [[each.panel, each.stave] for each in asked.spoiled]
    wanted = {"plan": number, "spoiled": spoiled, "without": asked.without, "seconds": asked.seconds}
    errand = visit.ask_for("again", wanted)
    return JSONResponse(errand_json(errand), 202, {"Location": f"/api/errands/{errand.id}"})


class Swap(Given):
    """Two staves of a panel, each by its place in it, from 0."""

    panel: str = Field(max_length=200)
    staves: tuple[Annotated[int, Field(ge=0, le=10_000)], Annotated[int, Field(ge=0, le=10_000)]]


@api.post("/api/plans/{number}/swap", status_code=201)
def swap(visit: Here, number: Whole, given: Annotated[Swap, Body()]) -> Response:
    """A new plan in which two staves of a panel have changed places."""
    kept = swap_staves(visit.open_work, number, given.panel, *given.staves)
    return JSONResponse(shapes.plan(kept), 201, {"Location": f"/api/plans/{kept.number}"})
