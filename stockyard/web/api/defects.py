"""Defects on a board's map: put on, changed and taken off by whoever has seen the map as it is."""

from typing import Annotated

from fastapi import Path, Query, Request
from fastapi.responses import Response
from pydantic import Field

from stockyard.services.map_defects import Sketch, add_defect, edit_defect, list_defects, remove_defect
from stockyard.services.unchanged import if_unchanged, mark_of
from stockyard.timber.defect import DefectKind, Face
from stockyard.web.api import shapes
from stockyard.web.api.boards import Number, with_mark
from stockyard.web.api.routes import Api, Given, marks_seen
from stockyard.web.etags import answer_with_tag
from stockyard.web.visit import Here

api = Api("defects")

Pair = tuple[float, float]
Which = Annotated[int, Path(ge=1, le=1_000_000, description="The defect's own number, after the slash.")]


class Drawn(Given):
    """A defect as it is drawn, in mm of the board frame: one of outline, box (two corners) and line.

    A line is a crack that gapes `opening`. What is left out is not said, or stays as it was.
    """

    kind: DefectKind | None = None
    face: Face | None = None
    outline: list[Pair] | None = Field(default=None, min_length=3, max_length=2_000)
    box: tuple[float, float, float, float] | None = None
    line: list[Pair] | None = Field(default=None, min_length=2, max_length=2_000)
    depth: float | None = None
    opening: float | None = None
    note: str | None = None
    because: str = ""

    def sketch(self) -> Sketch:
        """As the services take it."""
        return Sketch(
            kind=self.kind,
            face=self.face,
            box=self.box,
            polygon=None if self.outline is None else tuple(self.outline),
            line=None if self.line is None else tuple(self.line),
            depth_mm=self.depth,
            opening_mm=self.opening,
            note=self.note,
        )


@api.get("/api/boards/{number}/defects")
def defects(visit: Here, number: Number) -> Response:
    """The defects on a board's map; the ETag is the board's, which a change has to name."""
    mark = mark_of(visit.open_work, number)
    found = list_defects(visit.open_work, number)
    return answer_with_tag(visit.request, {"defects": [shapes.defect(each) for each in found]}, mark)


@api.post("/api/boards/{number}/defects", status_code=201)
def add(visit: Here, request: Request, number: Number, given: Drawn) -> Response:
    """Put a defect on the map."""
    unchanged = if_unchanged(visit.open_work, number, marks_seen(request))
    mapped = add_defect(unchanged, number, given.sketch())
    return with_mark(visit, number, shapes.defect(mapped), 201)


@api.patch("/api/boards/{number}/defects/{which}")
def edit(visit: Here, request: Request, number: Number, which: Which, given: Drawn) -> Response:
    """Change what is drawn or said of a defect; the older version stays on record."""
    unchanged = if_unchanged(visit.open_work, number, marks_seen(request))
    mapped = edit_defect(unchanged, f"{number}/{which}", given.sketch(), given.because)
    return with_mark(visit, number, shapes.defect(mapped))


@api.delete("/api/boards/{number}/defects/{which}")
def remove(
    visit: Here,
    request: Request,
    number: Number,
    which: Which,
    because: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Take a defect off the map; what it was stays on record."""
    unchanged = if_unchanged(visit.open_work, number, marks_seen(request))
    remove_defect(unchanged, f"{number}/{which}", because)
    return with_mark(visit, number, {"removed": f"{number}/{which}"})
