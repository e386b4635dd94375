"""Moisture of a board: its readings beside the equilibrium of the shop's air, and further readings."""

from datetime import date

from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.measures.plain import plain
from stockyard.services.board_moisture import board_moisture
from stockyard.services.read_moisture import add_reading
from stockyard.services.unchanged import mark_of
from stockyard.web.api.boards import Number
from stockyard.web.api.routes import Api, Given
from stockyard.web.etags import answer_with_tag, tag_of
from stockyard.web.visit import Here

api = Api("moisture")


@api.get("/api/boards/{number}/moisture")
def moisture(visit: Here, number: Number) -> Response:
    """A board's readings, the shop's equilibrium by month, and whether the board may be used."""
    found = board_moisture(visit.open_work, number)
    ready = None if found.judged is None else plain(found.judged.readiness)
    return answer_with_tag(
        visit.request,
        {
            "readings": [plain(each) for each in found.readings],
            "equilibrium": [plain(each) for each in found.emc],
            "readiness": ready,
            "why_not_judged": found.why_not_judged or None,
        },
    )


class Read(Given):
    """What a meter showed. [percent] wood_c: the wood's temperature; taken_on: today if not said."""

    raw_pct: float = Field(gt=0, le=300)
    meter: str = Field(default="", max_length=100)
    wood_c: float | None = Field(default=None, ge=-60, le=200)
    taken_on: date | None = None
    origin: str | None = Field(default=None, max_length=100)
    note: str = Field(default="", max_length=500)


@api.post("/api/boards/{number}/moisture", status_code=201)
def add(visit: Here, number: Number, given: Read) -> Response:
    """Write down a reading. Readings only add up, so it needs no If-Match."""
    kept = add_reading(
        visit.open_work,
        number,
        given.raw_pct,
        meter=given.meter,
        wood_c=given.wood_c,
        taken_on=given.taken_on,
        origin=given.origin,
        note=given.note,
    )
    return JSONResponse(plain(kept), 201, {"ETag": tag_of(mark_of(visit.open_work, number))})
