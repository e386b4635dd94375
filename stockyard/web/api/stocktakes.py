"""Stocktakes: a place counted, the differences told, then booked or dropped."""

from typing import Annotated, Any

from fastapi import Body
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.errors import BadInput, Fault
from stockyard.measures.plain import plain
from stockyard.services.count_stock import (
    CountSheet,
    book_stocktake,
    drop_stocktake,
    list_stocktakes,
    read_numbers,
    show_stocktake,
    start_stocktake,
)
from stockyard.services.read_labels import read_labels
from stockyard.timber.stocktake import Stocktake
from stockyard.web.api.routes import Api, Given, Whole
from stockyard.web.etags import answer_with_tag
from stockyard.web.forms import Form
from stockyard.web.visit import Here

api = Api("stocktakes")

PICTURE_MB = 25.0
_PICTURE: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["picture"],
                    "properties": {"picture": {"type": "string", "format": "binary"}},
                }
            }
        },
    }
}

ScannedText = Annotated[str, Field(min_length=1, max_length=320)]


@api.get("/api/stocktakes")
def stocktakes(visit: Here) -> Response:
    """Every count there was, the oldest first."""
    found = list_stocktakes(visit.open_work)
    return answer_with_tag(visit.request, {"stocktakes": [_head(each) for each in found]})


class Begun(Given):
    """Which place is counted."""

    place: str = Field(max_length=200)


@api.post("/api/stocktakes", status_code=201)
def begin(visit: Here, given: Begun) -> Response:
    """Begin a count of a place; what stands there now is expected."""
    return JSONResponse(_sheet(start_stocktake(visit.open_work, given.place)), 201)


@api.get("/api/stocktakes/{number}")
def stocktake(visit: Here, number: Whole) -> Response:
    """What a count comes to so far; as it was booked once it is closed."""
    return answer_with_tag(visit.request, _sheet(show_stocktake(visit.open_work, number)))


class Measured(Given):
    """Sizes as measured. [mm]"""

    length: float = Field(gt=0, le=100_000)
    width: float = Field(gt=0, le=100_000)
    thickness: float = Field(gt=0, le=100_000)


class Read(Given):
    """Numbers as typed or scanned. size: as measured, of one number. take_back: they were read by mistake."""

    numbers: list[ScannedText] = Field(min_length=1, max_length=500)
    size: Measured | None = None
    take_back: bool = False


@api.post("/api/stocktakes/{number}/numbers")
def read(visit: Here, number: Whole, given: Read) -> Response:
    """Read numbers into a count; a number read twice counts once."""
    size = None if given.size is None else (given.size.length, given.size.width, given.size.thickness)
    sheet = read_numbers(
        visit.open_work, given.numbers, stocktake=number, size_mm=size, take_back=given.take_back
    )
    return JSONResponse(_sheet(sheet))


@api.post("/api/stocktakes/{number}/picture", at_most_mb=PICTURE_MB, openapi_extra=_PICTURE)
def picture(visit: Here, number: Whole, form: Form) -> Response:
    """Read the codes on a picture of labels into a count. Answers with what they held too."""
    given = form.file("picture")
    if given is None:
        raise BadInput("Nothing was counted.", [Fault("picture", "a file", "none")])
    codes = read_labels(given[1], given[0])
    sheet = read_numbers(visit.open_work, codes, stocktake=number)
    return JSONResponse(_sheet(sheet) | {"read": list(codes)})


class Booked(Given):
    """Why pieces are missing; needed where any are."""

    reason: str = Field(default="", max_length=500)


@api.post("/api/stocktakes/{number}/book")
def book(visit: Here, number: Whole, given: Annotated[Booked | None, Body()] = None) -> Response:
    """Book what a count came to, all or nothing, and close it."""
    sheet = book_stocktake(visit.open_work, number, reason=given.reason if given else "")
    return JSONResponse(_sheet(sheet))


@api.post("/api/stocktakes/{number}/drop")
def drop(visit: Here, number: Whole) -> Response:
    """Close a count without booking anything of it."""
    return JSONResponse(_sheet(drop_stocktake(visit.open_work, number)))


def _head(count: Stocktake) -> dict[str, Any]:
    state = "open" if count.outcome is None else count.outcome["state"]
    return {
        "stocktake": count.number,
        "place": count.place,
        "state": state,
        "begun": plain(count.at),
        "by": count.who,
        "closed": plain(count.closed_at),
    }


def _sheet(sheet: CountSheet) -> dict[str, Any]:
    return {
        "stocktake": sheet.number,
        "place": sheet.place,
        "state": sheet.state,
        "begun": plain(sheet.started),
        "by": sheet.started_by,
        "expected": sheet.expected,
        "currency": sheet.currency,
        "counts": dict(sheet.counts),
        "lines": [
            {
                "id": line.number,
                "finding": line.finding,
                "told": line.told,
                "worth": plain(line.worth),
            }
            for line in sheet.lines
        ],
        "movements": list(sheet.movements),
    }
