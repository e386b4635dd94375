"""Boards: the rack in pages, one board with everything known of it, and corrections of its facts."""

from typing import Annotated, Any

from fastapi import Path, Query, Request
from fastapi.responses import Response

from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.look_along_rack import look_along_rack
from stockyard.services.show_board import show_board
from stockyard.services.unchanged import if_unchanged, mark_of
from stockyard.timber.defect import Face
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import STANDING, RackOrder, RackQuery
from stockyard.web.api import shapes
from stockyard.web.api.routes import Api, Given, Limit, marks_seen
from stockyard.web.etags import answer_with_tag, tag_of
from stockyard.web.visit import Here

api = Api("boards")

Number = Annotated[str, Path(max_length=80, description="The board's number, such as SG-0017.")]
Words = Annotated[list[str], Query(max_length=20)]
Size = Annotated[float | None, Query(ge=0, le=100_000, allow_inf_nan=False)]
Percent = Annotated[float | None, Query(ge=0, le=300, allow_inf_nan=False)]


@api.get("/api/boards")
def boards(
    visit: Here,
    species: Words = [],  # noqa: B006
    kind: Annotated[list[PieceKind], Query(max_length=5)] = [],  # noqa: B006
    status: Annotated[list[PieceStatus], Query(max_length=5)] = [],  # noqa: B006
    min_length: Size = None,
    max_length: Size = None,
    min_width: Size = None,
    max_width: Size = None,
    min_thickness: Size = None,
    max_thickness: Size = None,
    min_moisture: Percent = None,
    max_moisture: Percent = None,
    place: Annotated[str | None, Query(max_length=200)] = None,
    docket: Annotated[str | None, Query(max_length=200)] = None,
    words: Annotated[str, Query(max_length=200)] = "",
    unread: bool = False,
    order: RackOrder = RackOrder.NUMBER,
    after: Annotated[str | None, Query(max_length=80)] = None,
    limit: Limit = 60,
) -> Response:
    """The pieces on the rack that meet all of these, a page at a time, with what all of them come to.

    `next` is the address of the next page, null on the last one.
    """
    query = RackQuery(
        species=tuple(species),
        kinds=tuple(kind),
        status=tuple(status) or STANDING,
        length_at_least_mm=min_length,
        length_at_most_mm=max_length,
        width_at_least_mm=min_width,
        width_at_most_mm=max_width,
        thickness_at_least_mm=min_thickness,
        thickness_at_most_mm=max_thickness,
        moisture_at_least_pct=min_moisture,
        moisture_at_most_pct=max_moisture,
        place=place,
        delivery=docket,
        words=tuple(words.split()[:8]),
        unread=unread,
    )
    page = look_along_rack(visit.open_work, query, order, after=after, limit=limit, totals=after is None)
    further = None
    if page.more:
        further = str(visit.request.url.include_query_params(after=page.pieces[-1].number).path)
        further += f"?{visit.request.url.include_query_params(after=page.pieces[-1].number).query}"
    answer = answer_with_tag(
        visit.request,
        {
            "boards": [shapes.piece(each) for each in page.pieces],
            "totals": None if page.totals is None else shapes.totals(page.totals, page.currency),
            "next": further,
        },
    )
    if further:
        answer.headers["Link"] = f'<{further}>; rel="next"'
    return answer


@api.get("/api/boards/{number}")
def board(visit: Here, number: Number) -> Response:
    """One board with its map, readings, changes and movements. Its ETag is what a correction has to name."""
    mark = mark_of(visit.open_work, number)
    return answer_with_tag(visit.request, shapes.sheet(show_board(visit.open_work, number)), mark)


class Distorted(Given):
    """Distortion over the whole board. [mm]"""

    bow: float | None = None
    spring: float | None = None
    cup: float | None = None
    twist: float | None = None


class Corrected(Given):
    """New facts of a board; what is left out stays as it is. because: why, kept with the change."""

    length: float | None = None
    width: float | None = None
    thickness: float | None = None
    distortion: Distorted = Distorted()
    heart_face: Face | None = None
    ring_angle_deg: float | None = None
    place: str | None = None
    note: str | None = None
    because: str = ""


@api.patch("/api/boards/{number}")
def correct(visit: Here, request: Request, number: Number, given: Corrected) -> Response:
    """Correct facts of a board, its place among them. What it was stays on record."""
    unchanged = if_unchanged(visit.open_work, number, marks_seen(request))
    bent = given.distortion
    correct_board(
        unchanged,
        number,
        Correction(
            length_mm=given.length,
            width_mm=given.width,
            thickness_mm=given.thickness,
            bow_mm=bent.bow,
            spring_mm=bent.spring,
            cup_mm=bent.cup,
            twist_mm=bent.twist,
            heart_face=given.heart_face,
            ring_angle_deg=given.ring_angle_deg,
            place=None if given.place is None else given.place.strip(),
            note=given.note,
        ),
        given.because,
    )
    return with_mark(visit, number, shapes.sheet(show_board(visit.open_work, number)))


def with_mark(visit: Here, number: str, value: Any, status: int = 200) -> Response:
    """A value that came of a change of a board, with the board's new mark."""
    from fastapi.responses import JSONResponse

    return JSONResponse(value, status, {"ETag": tag_of(mark_of(visit.open_work, number))})
