"""Photographs of faces: what adding would come to, adding as an errand, their pictures, what they suggest."""

from contextlib import suppress
from typing import Annotated, Any

from fastapi import Body, Path, Query, Request
from fastapi.responses import JSONResponse, Response
from pydantic import Field

from stockyard.errors import BadInput
from stockyard.measures.plain import plain
from stockyard.services.add_photo import GivenPicture, take_back_photo
from stockyard.services.decide_suggestions import Which as WhichOnes
from stockyard.services.decide_suggestions import accept_suggestions, reject_suggestions
from stockyard.services.preview_photo import preview_photo
from stockyard.services.show_face import show_face, small_view_of
from stockyard.services.suggest_defects import Boards, Offer, ReadFace, list_photos
from stockyard.services.take_pictures import how_from, preview_json, scale_json
from stockyard.services.unchanged import if_unchanged, mark_of
from stockyard.timber.defect import Face
from stockyard.web.api.boards import Number, with_mark
from stockyard.web.api.routes import Api, Given, Whole, marks_seen
from stockyard.web.errand_words import errand_json
from stockyard.web.etags import answer_with_tag, tags_in
from stockyard.web.forms import Form
from stockyard.web.given_pictures import ask_for_photo, given_pictures
from stockyard.web.visit import Here

api = Api("photos")

PICTURES_MB = 120.0
"""What the pictures of one face may come to."""

OneFace = Annotated[Face, Path(description="A or B.")]
_FIELDS: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["face", "pictures"],
                    "properties": {
                        "face": {"type": "string", "enum": ["A", "B"]},
                        "pictures": {"type": "array", "items": {"type": "string", "format": "binary"}},
                        "end1": {"type": "string", "enum": ["left", "right", "top", "bottom"]},
                        "order": {"type": "string", "enum": ["given", "name", "taken"]},
                        "marker_mm": {"type": "number"},
                        "corners": {"type": "string", "description": "u,v of four corners, with spaces"},
                        "key": {
                            "type": "string",
                            "description": "Sent again under the same key, it counts once",
                        },
                    },
                }
            }
        },
    }
}


@api.get("/api/boards/{number}/photos")
def photos(visit: Here, number: Number) -> Response:
    """The photograph that stands for each face, and what was suggested on it."""
    mark = mark_of(visit.open_work, number)
    faces = list_photos(visit.open_work, Boards((number,)))
    return answer_with_tag(visit.request, {"photos": [_face(each) for each in faces]}, mark)


@api.post("/api/boards/{number}/photos/preview", at_most_mb=PICTURES_MB, openapi_extra=_FIELDS)
def preview(visit: Here, number: Number, form: Form) -> Response:
    """What adding pictures would come to: corners, scale and trust. Nothing is stored."""
    asked, pictures = given_pictures(form, number)
    given = [GivenPicture(content, name) for name, content in pictures]
    found = preview_photo(visit.open_work, number, Face(asked["face"]), given, how_from(asked))
    return JSONResponse(preview_json(found))


@api.post("/api/boards/{number}/photos", status_code=202, at_most_mb=PICTURES_MB, openapi_extra=_FIELDS)
def add(visit: Here, number: Number, form: Form) -> Response:
    """Add pictures of a face: an errand, whose progress and result are read at its Location."""
    errand = ask_for_photo(visit, form, number)
    return JSONResponse(errand_json(errand), 202, {"Location": f"/api/errands/{errand.id}"})


@api.get("/api/boards/{number}/faces/{face}.jpg")
def face_picture(visit: Here, number: Number, face: OneFace, marked: bool = False) -> Response:
    """The picture of a face at true scale; marked: with what is known of it drawn on."""
    # A plain face changes only with the photo that stands for it; a marked one with the board's map too.
    tag = f'"{_face_mark(visit, number, face, marked)}"'
    kept = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if tag in tags_in(visit.request.headers.get("if-none-match", "")):
        return Response(status_code=304, headers=kept)
    picture = show_face(visit.open_work, number, face, marked=marked)
    return Response(picture.content, media_type="image/jpeg", headers=kept)


@api.get("/api/photos/{photo}/small.jpg")
def small(visit: Here, photo: Whole) -> Response:
    """A small view of a photographed face."""
    kept = {"Cache-Control": "private, max-age=86400"}
    return Response(small_view_of(visit.open_work, photo), media_type="image/jpeg", headers=kept)


class Back(Given):
    """Why a photo was a mistake."""

    because: str = Field(min_length=1, max_length=500)


@api.post("/api/photos/{photo}/take-back")
def take_back(visit: Here, photo: Whole, given: Back) -> Response:
    """Have a photo stand no more; it stays on record."""
    taken = take_back_photo(visit.open_work, photo, given.because)
    return JSONResponse({"photo": taken.number, "board": taken.piece, "because": taken.void})


@api.get("/api/boards/{number}/suggestions")
def suggestions(
    visit: Here, number: Number, every: Annotated[bool, Query(description="Decided ones too.")] = False
) -> Response:
    """What photographs suggest on a board, and what each suggestion meets."""
    mark = mark_of(visit.open_work, number)
    offers = [
        offer
        for read in list_photos(visit.open_work, Boards((number,)))
        for offer in read.offers
        if every or offer.open
    ]
    return answer_with_tag(visit.request, {"suggestions": [_offer(each) for each in offers]}, mark)


class Decision(Given):
    """Which suggestions, by their own numbers after the colon, are defects and which are not.

    as_new: also what meets a mapped defect. apart: the two sides of a through crack as two defects.
    """

    accept: list[Annotated[int, Field(ge=1, le=1_000_000)]] = Field(default_factory=list, max_length=1000)
    reject: list[Annotated[int, Field(ge=1, le=1_000_000)]] = Field(default_factory=list, max_length=1000)
    as_new: bool = False
    apart: bool = False
    because: str = Field(default="", max_length=500)


@api.post("/api/boards/{number}/suggestions")
def decide(visit: Here, request: Request, number: Number, given: Annotated[Decision, Body()]) -> Response:
    """Accept and reject suggestions, as whoever has seen the board as it is."""
    if bool(given.accept) == bool(given.reject):
        raise BadInput("Say either which suggestions are accepted or which are rejected.")
    unchanged = if_unchanged(visit.open_work, number, marks_seen(request))
    which = WhichOnes(refs=tuple(f"{number}:{each}" for each in given.accept or given.reject))
    if given.accept:
        done = accept_suggestions(
            unchanged, which, as_new=given.as_new, apart=given.apart, because=given.because
        )
    else:
        done = reject_suggestions(unchanged, which, because=given.because)
    told = [
        {
            "id": each.suggested.id,
            "verdict": each.decision.verdict.value,
            "defect": None if each.defect is None else each.defect.defect.id,
            "with": each.with_,
        }
        for each in done
    ]
    return with_mark(visit, number, {"decided": told})


def _face(read: ReadFace) -> dict[str, Any]:
    one = read.photo
    return {
        "photo": one.number,
        "face": one.face.value,
        "taken": [plain(each.taken) for each in one.pictures],
        "scale": scale_json(one.scale),
        "read": read.detection is not None,
        "suggestions": [_offer(each) for each in read.offers],
    }


def _offer(offer: Offer) -> dict[str, Any]:
    one = offer.suggested
    return {
        "id": one.id,
        "kind": one.kind.value,
        "face": one.face.value,
        "outline": [list(point) for point in offer.outline],
        "opening": one.opening_mm,
        "confidence": one.confidence,
        "could_be": [kind.value for kind in one.could_be],
        "same_as": offer.same_as,
        "through": offer.through,
        "refused_as": offer.refused_as,
        "decided": None if one.decided is None else one.decided.verdict.value,
    }


def _face_mark(visit: Here, number: str, face: Face, marked: bool) -> str:
    if marked:
        return f"{mark_of(visit.open_work, number)}-marked"
    with suppress(StopIteration):
        standing = list_photos(visit.open_work, Boards((number,)), face)
        return next(each.photo.face_digest for each in standing)[:32]
    return mark_of(visit.open_work, number)
