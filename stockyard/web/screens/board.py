"""Board: both faces and what is on them, moisture over time, what the board may be used for, its history."""

import json
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from fastapi.responses import Response

from stockyard.errors import BadInput, StockyardError
from stockyard.services.add_photo import take_back_photo
from stockyard.services.board_moisture import board_moisture
from stockyard.services.board_uses import board_uses
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.decide_suggestions import Which, accept_suggestions, reject_suggestions
from stockyard.services.draw_labels import draw_labels
from stockyard.services.grade_boards import grade_boards
from stockyard.services.map_defects import add_defect, edit_defect, remove_defect
from stockyard.services.read_moisture import add_reading
from stockyard.services.show_board import BoardSheet, show_board
from stockyard.services.suggest_defects import Boards, ReadFace, list_photos
from stockyard.services.tell_change import told
from stockyard.services.unchanged import if_unchanged, mark_of
from stockyard.timber.defect import WEAKENING, DefectKind, Face
from stockyard.timber.piece import Piece
from stockyard.web.api import shapes
from stockyard.web.api.boards import Number
from stockyard.web.face_map import face_map
from stockyard.web.forms import Form
from stockyard.web.moisture_chart import moisture_chart
from stockyard.web.pages import drawing, words
from stockyard.web.screen import Screen
from stockyard.web.sketch_form import FIELDS, sketch_in, typed_as, typed_of
from stockyard.web.texts import text
from stockyard.web.visit import Here, Visit

if TYPE_CHECKING:
    from stockyard.errors import Fault

screen = Screen("board")

_NEW = dict.fromkeys(FIELDS, "") | {"kind": "crack", "face": "A", "shape": "line"}


@screen.page("/board/{number}")
def board(visit: Here, number: Number) -> Response:
    """One board with everything known of it."""
    asked = visit.request.query_params
    return _page(visit, number, which=asked.get("defect", ""), graded="grade" in asked)


@screen.page("/board/{number}/grade")
def grade(visit: Here, number: Number) -> Response:
    """What a board grades by its map: a part of its page, which takes longer than all the rest of it."""
    return visit.page("parts/board_grade.html", grade=_grade(visit, number))


@screen.action("/board/{number}/defects")
def draw(visit: Here, number: Number, form: Form) -> Response:
    """Put a defect on the map, or change one, as whoever has seen the map as it is."""
    which = form.text("which")
    try:
        sketch = sketch_in(form, new=not which)
        unchanged = if_unchanged(visit.open_work, number, (form.text("mark"),))
        if which:
            mapped = edit_defect(unchanged, f"{number}/{which}", sketch, form.text("because"))
        else:
            mapped = add_defect(unchanged, number, sketch)
    except BadInput as refused:
        return _page(visit, number, typed=typed_of(form), faults=refused.faults, status=422)
    return visit.see_other(_path(number, "#map"), said=text("board.drawn", id=mapped.defect.id))


@screen.action("/board/{number}/defects/off")
def take_off(visit: Here, number: Number, form: Form) -> Response:
    """Take a defect off the map."""
    id_ = f"{number}/{form.text('which')}"
    unchanged = if_unchanged(visit.open_work, number, (form.text("mark"),))
    remove_defect(unchanged, id_, form.text("because"))
    return visit.see_other(_path(number, "#map"), said=text("board.taken_off", id=id_))


@screen.action("/board/{number}/suggestions")
def decide(visit: Here, number: Number, form: Form) -> Response:
    """Accept or reject suggestions: one, or all that are open."""
    unchanged = if_unchanged(visit.open_work, number, (form.text("mark"),))
    accepted, rejected = form.text("accept"), form.text("reject")
    one = accepted or rejected
    which = Which(refs=(number,), every=True) if one == "all" else Which(refs=(f"{number}:{one}",))
    done = accept_suggestions(unchanged, which) if accepted else reject_suggestions(unchanged, which)
    count = len(done)
    said = text("board.accepted", count=count) if accepted else text("board.rejected", count=count)
    return visit.see_other(_path(number, "#suggestions"), said=said)


@screen.action("/board/{number}/photos/back")
def photo_back(visit: Here, number: Number, form: Form) -> Response:
    """Take back a photo that was a mistake; it stays on record."""
    photo, because = form.whole("photo", required=True), form.text("because", required=True)
    form.check("The photo was not taken back.")
    taken = take_back_photo(visit.open_work, photo or 0, because)
    return visit.see_other(_path(taken.piece), said=text("board.photo_back", photo=taken.number))


@screen.action("/board/{number}/moisture")
def read(visit: Here, number: Number, form: Form) -> Response:
    """Write down what a moisture meter showed."""
    raw = form.number("raw", required=True)
    wood, day = form.number("wood_c"), form.day("day")
    form.check("The reading was not written down.")
    kept = add_reading(
        visit.open_work, number, raw or 0, meter=form.text("meter"), wood_c=wood, taken_on=day,
        note=form.text("note"),
    )  # fmt: skip
    pct = kept.corrected_pct
    said = text("board.read_down") if pct is None else text("board.read_as", percent=f"{pct:.1f}")
    return visit.see_other(_path(number, "#moisture"), said=said)


@screen.action("/board/{number}/facts")
def correct(visit: Here, number: Number, form: Form) -> Response:
    """Correct what was measured of a board, or say where it now stands."""
    length, width, thickness = (form.length_mm(name) for name in ("length", "width", "thickness"))
    bow, spring, cup, twist = (form.number(name) for name in ("bow", "spring", "cup", "twist"))
    heart = form.choice("heart_face", ("A", "B"))
    form.check("Nothing was corrected.")
    standing = show_board(visit.open_work, number).piece
    place, note = form.text("place"), form.text("note")
    correction = Correction(
        length_mm=length,
        width_mm=width,
        thickness_mm=thickness,
        bow_mm=bow,
        spring_mm=spring,
        cup_mm=cup,
        twist_mm=twist,
        heart_face=Face(heart) if heart and heart != standing.heart_face else None,
        place=place if place != standing.place else None,
        note=note if note != standing.note else None,
    )
    unchanged = if_unchanged(visit.open_work, number, (form.text("mark"),))
    correct_board(unchanged, number, correction, form.text("because"))
    return visit.see_other(_path(number), said=text("board.corrected"))


@screen.page("/board/{number}/label.pdf")
def label(visit: Here, number: Number) -> Response:
    """The board's label, whose code opens this page."""
    address = str(visit.request.url.replace(path="/board/", query=""))
    pdf = draw_labels(visit.open_work, [number], address=address).as_pdf()
    name = {"Content-Disposition": f'inline; filename="label-{number}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=name)


def _path(number: str, anchor: str = "") -> str:
    return f"/board/{quote(number, safe='')}{anchor}"


def _page(
    visit: Visit,
    number: str,
    *,
    which: str = "",
    graded: bool = False,
    typed: Any = None,
    faults: "tuple[Fault, ...]" = (),
    status: int = 200,
) -> Response:
    mark = mark_of(visit.open_work, number)
    sheet = show_board(visit.open_work, number)
    photos = list_photos(visit.open_work, Boards((number,)))
    chosen = next((each for each in sheet.defects if each.defect.id == f"{number}/{which}"), None)
    moisture = board_moisture(visit.open_work, number)
    piece = sheet.piece
    laid = face_map(
        piece.length_mm,
        piece.width_mm,
        sheet.defects,
        [offer for each in photos for offer in each.offers],
        _pictures(visit, piece),
        _in_words(sheet),
    )
    live = {
        "number": number,
        "mark": mark,
        "length": piece.length_mm,
        "width": piece.width_mm,
        "size": laid.size_mm,
        "tops": laid.tops_mm,
        "weakening": sorted(kind.value for kind in WEAKENING),
        "defects": [shapes.defect(each) for each in sheet.defects],
    }
    return visit.page(
        "board.html",
        status=status,
        sheet=sheet,
        piece=piece,
        mark=mark,
        path=_path(number),
        map=drawing(laid.svg),
        live=json.dumps(live),
        draft=typed or (typed_as(chosen) if chosen else _NEW),
        faults=faults,
        kinds=[(kind.value, words(kind)) for kind in DefectKind],
        faces=photos,
        offers=_open_offers(photos),
        moisture=moisture,
        chart=drawing(moisture_chart(moisture)),
        uses=board_uses(visit.open_work, number),
        graded=graded,
        grade=_grade(visit, number) if graded else None,
        changes=[(each, told(each)) for each in reversed(sheet.changes)],
    )


def _pictures(visit: Visit, piece: Piece) -> dict[Face, str]:
    """The address of the picture of each face: its own, or its part of what it was cut from."""
    found: dict[Face, str] = {}
    own = f"/api/boards/{quote(piece.number, safe='')}/faces"
    number: str | None = piece.number
    while number is not None and len(found) < 2:
        for each in list_photos(visit.open_work, Boards((number,))):
            found.setdefault(each.photo.face, f"{own}/{each.photo.face.value}.jpg?of={each.photo.number}")
        number = show_board(visit.open_work, number).piece.parent
    return found


def _open_offers(photos: tuple[ReadFace, ...]) -> list[Any]:
    offers = [offer for each in photos for offer in each.offers if offer.open]
    return sorted(offers, key=lambda offer: -offer.suggested.confidence)


def _in_words(sheet: BoardSheet) -> str:
    if not sheet.defects:
        return text("board.map_clear", number=sheet.piece.number)
    flaws = ", ".join(
        f"{words(each.defect.kind)} {text('board.on_face.' + each.defect.face.value)}"
        for each in sheet.defects
    )
    return text("board.map_told", number=sheet.piece.number, flaws=flaws)


def _grade(visit: Visit, number: str) -> Any:
    try:
        return grade_boards(visit.open_work, [number]).boards[0]
    except StockyardError:
        return None
