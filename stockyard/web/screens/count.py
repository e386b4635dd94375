"""Count: what stands in a place read off its labels, the differences looked at, then booked."""

from typing import Any

from fastapi.responses import Response

from stockyard.errors import BadInput
from stockyard.services.count_stock import (
    FINDINGS,
    CountSheet,
    book_stocktake,
    drop_stocktake,
    list_stocktakes,
    read_numbers,
    show_stocktake,
    start_stocktake,
)
from stockyard.services.look_along_rack import signs_on_rack
from stockyard.services.read_labels import read_labels
from stockyard.web.api.routes import Whole
from stockyard.web.forms import Form
from stockyard.web.screen import Screen
from stockyard.web.texts import counted, text
from stockyard.web.visit import Here

screen = Screen("count", "/count")

PICTURE_MB = 25.0
_SHOWN = 20


@screen.page("/count")
def counts(visit: Here) -> Response:
    """The counts under way, those that were, and beginning another."""
    every = list_stocktakes(visit.open_work)
    return visit.page(
        "count.html",
        under_way=[each for each in every if each.is_open],
        closed=[each for each in reversed(every) if not each.is_open][:_SHOWN],
        places={place: n for place, n in signs_on_rack(visit.open_work).places.items() if place},
        place=visit.request.query_params.get("place", ""),
    )


@screen.action("/count")
def begin(visit: Here, form: Form) -> Response:
    """Begin a count of a place."""
    place = form.text("place", required=True)
    form.check("No count was begun.")
    sheet = start_stocktake(visit.open_work, place)
    return visit.see_other(f"/count/{sheet.number}")


@screen.page("/count/{number}")
def count(visit: Here, number: Whole) -> Response:
    """One count: reading numbers into it, and what it comes to so far."""
    return visit.page("count_place.html", refused=None, **_told(show_stocktake(visit.open_work, number)))


@screen.page("/count/{number}/so-far")
def so_far(visit: Here, number: Whole) -> Response:
    """What a count comes to alone, for the script that reads labels."""
    return visit.page("parts/count_lines.html", **_told(show_stocktake(visit.open_work, number)))


@screen.action("/count/{number}/numbers", at_most_mb=PICTURE_MB)
def numbers(visit: Here, number: Whole, form: Form) -> Response:
    """Read numbers into a count: typed, or off a picture of labels."""
    read = form.text("numbers").replace(",", " ").split()
    picture = form.file("picture")
    if picture is not None:
        read += read_labels(picture[1], picture[0])
    size = tuple(form.length_mm(name) for name in ("length", "width", "thickness"))
    measured = any(each is not None for each in size)
    if measured:
        size = tuple(form.length_mm(name, required=True) for name in ("length", "width", "thickness"))
    form.check("Nothing was counted.")
    back = form.ticked("take_back")
    length, width, thickness = size
    read_numbers(
        visit.open_work,
        read,
        stocktake=number,
        size_mm=None if length is None or width is None or thickness is None else (length, width, thickness),
        take_back=back,
    )
    said = (
        text("count.taken_back", what=", ".join(read)) if back else text("count.read", what=", ".join(read))
    )
    return visit.see_other(f"/count/{number}", said)


@screen.action("/count/{number}/book")
def book(visit: Here, number: Whole, form: Form) -> Response:
    """Book what a count came to."""
    try:
        sheet = book_stocktake(visit.open_work, number, reason=form.text("reason"))
    except BadInput as refused:
        told = _told(show_stocktake(visit.open_work, number))
        return visit.page("count_place.html", status=422, refused=refused, **told)
    return visit.see_other(f"/count/{number}", counted("count.booked", len(sheet.movements)))


@screen.action("/count/{number}/drop")
def drop(visit: Here, number: Whole) -> Response:
    """Close a count without booking anything."""
    drop_stocktake(visit.open_work, number)
    return visit.see_other("/count", text("count.dropped"))


def _told(sheet: CountSheet) -> dict[str, Any]:
    lines = {finding: [line for line in sheet.lines if line.finding == finding] for finding in FINDINGS}
    return {"sheet": sheet, "lines": lines, "counts": sheet.counts}
