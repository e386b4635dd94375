"""Sheets: what can be printed, as PDF at the scale it states."""

from typing import Annotated

from fastapi import Path, Query
from fastapi.responses import Response

from stockyard.web.api.routes import Api
from stockyard.web.sheet_kinds import as_answer, draw_sheet
from stockyard.web.visit import Here

api = Api("sheets")

Kind = Annotated[
    str, Path(max_length=20, description="bench, plan, cuts, panels, boards, labels, delivery or materials.")
]
Said = Annotated[str, Query(max_length=4_000)]


@api.get("/api/sheets/{kind}.pdf")
def sheet(
    visit: Here,
    kind: Kind,
    plan: Said = "",
    panel: Said = "",
    boards: Said = "",
    docket: Said = "",
    supplier: Said = "",
    place: Said = "",
    job: Said = "",
    start: Said = "",
    size: Said = "",
    single: bool = False,
    skip: Annotated[int, Query(ge=0, le=1_000)] = 0,
    copies: Annotated[int, Query(ge=1, le=20)] = 1,
    outline: bool = False,
) -> Response:
    """A sheet as a PDF. Each kind needs its own: a plan, boards, a docket, or a job; labels take several."""
    asked = {
        "plan": plan, "panel": panel, "boards": boards, "docket": docket, "supplier": supplier,
        "place": place, "job": job, "start": start, "size": size, "single": "1" if single else "",
        "skip": str(skip), "copies": str(copies), "outline": "1" if outline else "",
    }  # fmt: skip
    return as_answer(draw_sheet(visit.open_work, kind, asked, str(visit.request.base_url) + "board/"))
