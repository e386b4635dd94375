"""Windows: a part of a board's face as a picture small enough for a page, such as a stave in its panel."""

from typing import Annotated

from fastapi import Path, Query
from fastapi.responses import Response

from stockyard.services.show_face import pictured, show_window
from stockyard.timber.defect import Face
from stockyard.timber.window import Window
from stockyard.web.api.boards import Number
from stockyard.web.api.photos import OneFace
from stockyard.web.api.routes import Api
from stockyard.web.etags import tags_in
from stockyard.web.visit import Here

api = Api("windows")

Mm = Annotated[int, Path(ge=0, le=50_000)]


@api.get("/api/boards/{number}/faces/{face}/{x0}-{y0}-{x1}-{y1}.jpg")
def window(
    visit: Here,
    number: Number,
    face: OneFace,
    x0: Mm,
    y0: Mm,
    x1: Mm,
    y1: Mm,
    longest: Annotated[int, Query(ge=40, le=4_000, description="Of its longer side at most. [px]")] = 1600,
) -> Response:
    """What lies in [x0, x1] x [y0, y1] mm of a face, x right from end 1 and y up from edge 1, as a JPEG."""
    photo = pictured(visit.open_work, (number,)).get((number, Face(face)))
    tag = f'"{photo}-{x0}-{y0}-{x1}-{y1}-{longest}"'
    kept = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if photo is not None and tag in tags_in(visit.request.headers.get("if-none-match", "")):
        return Response(status_code=304, headers=kept)
    picture = show_window(
        visit.open_work, number, Face(face), Window(x0, y0, max(x0, x1), max(y0, y1)), longest_px=longest
    )
    return Response(picture.content, media_type="image/jpeg", headers=kept)
