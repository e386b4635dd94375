"""Photograph: a face taken with the phone, its corners set right, kept while the next board is at hand."""

from collections.abc import Mapping
from typing import Any

from fastapi.responses import Response

from stockyard.services.boards_to_photograph import boards_to_photograph
from stockyard.services.errands import show_errand
from stockyard.services.show_board import show_board
from stockyard.services.suggest_defects import Boards, list_photos
from stockyard.web.api.boards import Number
from stockyard.web.api.photos import PICTURES_MB
from stockyard.web.forms import Form
from stockyard.web.given_pictures import ask_for_photo
from stockyard.web.screen import Screen
from stockyard.web.visit import Here, Visit

screen = Screen("photograph", "/photograph", first=True)


@screen.page("/photograph")
def boards(visit: Here) -> Response:
    """The boards that were never photographed."""
    asked = visit.request.query_params.get("number", "").strip()
    if asked:
        found = show_board(visit.open_work, asked.upper())
        return visit.see_other(f"/photograph/{found.piece.number}")
    return visit.page("photograph.html", bare=boards_to_photograph(visit.open_work))


@screen.page("/photograph/{number}")
def face(visit: Here, number: Number) -> Response:
    """Photograph one board, a face at a time."""
    piece = show_board(visit.open_work, number).piece
    faces = {each.photo.face.value: each.photo for each in list_photos(visit.open_work, Boards((number,)))}
    asked = visit.request.query_params.get("face", "")
    bare = next((each for each in ("A", "B") if each not in faces), "A")
    came = _came_of(visit, number)
    following = boards_to_photograph(visit.open_work, after=number, limit=1)
    return visit.page(
        "photograph_board.html",
        piece=piece,
        faces=faces,
        chosen=asked if asked in ("A", "B") else bare,
        following=following[0].piece.number if following else "",
        came=came,
        corners=" ".join(f"{u:g},{v:g}" for u, v in came["corners_px"][0]) if came else "",
    )


@screen.action("/photograph/{number}", at_most_mb=PICTURES_MB)
def take(visit: Here, number: Number, form: Form) -> Response:
    """Keep pictures of a face; they are put to scale and read beside the request."""
    return visit.see_other(f"/errand/{ask_for_photo(visit, form, number).id}")


def _came_of(visit: Visit, number: str) -> Mapping[str, Any] | None:
    """What hindered the pictures of an errand, where the address names one and a hand can set it right."""
    asked = visit.request.query_params.get("errand", "")
    if not asked.isdecimal() or len(asked) > 9:
        return None
    errand = show_errand(visit.open_work, int(asked))
    result = errand.result or {}
    told = errand.kind == "photo" and result.get("of") == number and len(result.get("corners_px", ())) == 1
    return result if told else None
