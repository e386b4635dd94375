"""The picture of a board's face at true scale, plain or with what is known of it drawn on; and small views.

show_face(open_work, number, face, marked) -> FacePicture     JPEG, with its scale
show_window(open_work, number, face, window) -> FacePicture   a part of it, small enough for a page
pictured(open_work, numbers)               -> {(number, face): photo}
picture_file(open_work, digest)            -> (bytes, name)   a picture as it was kept
small_view_of(open_work, photo_number)     -> bytes           JPEG, at most 480 px
"""

import contextlib
from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, NotFound
from stockyard.services.suggest_defects import Boards, faces_of, pieces_named
from stockyard.timber.defect import Face, Outline
from stockyard.timber.photo import Photo
from stockyard.timber.window import Window

if TYPE_CHECKING:
    from stockyard.photos.kept_face import AtScale
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

_MOST_ON_A_SHEET = 120
_MAPPED, _OPEN = (0, 90, 160), (190, 30, 20)


@dataclass(frozen=True, slots=True)
class FacePicture:
    """A face at true scale: column = x / mm_per_px, row = (width - y) / mm_per_px.

    content: a JPEG. photo: the one it comes from; of_piece: the piece that was photographed, the board itself
    or one it was cut from.
    """

    content: bytes
    mm_per_px: float
    photo: int
    of_piece: str


def show_face(open_work: "OpenWork", number: str, face: Face, *, marked: bool = False) -> FacePicture:
    """The newest picture of a face; of a piece never photographed, its part of the board it was cut from.

    marked: with mapped defects and open suggestions drawn on, each with its number. Raises NotFound, BadInput
    where neither it nor what it was cut from was photographed.
    """
    from stockyard.photos.kept_face import as_jpeg
    from stockyard.photos.kept_face import marked as drawn_on

    if face is Face.BOTH:
        raise BadInput("A picture shows one face; say A or B.")
    with open_work(reading=True) as work:
        photo, laid = _face(work, number, face)
        marks = _marks(work, number, face) if marked else []
    pixels = drawn_on(laid, marks) if marked else laid.pixels
    return FacePicture(as_jpeg(pixels), laid.mm_per_px, photo.number, photo.piece)


def show_window(
    open_work: "OpenWork", number: str, face: Face, window: Window, *, longest_px: int = 1600
) -> FacePicture:
    """The part of a face that lies in a window of its board, made small enough for a page.

    longest_px: of its longer side at most. Raises as `show_face` does, and BadInput for a window that lies
    off the board.
    """
    from stockyard.photos.kept_face import cut_out, small_view

    if face is Face.BOTH:
        raise BadInput("A picture shows one face; say A or B.")
    with open_work(reading=True) as work:
        photo, laid = _face(work, number, face)
    part = cut_out(laid, window)
    if not part.pixels.size or min(window.length_mm, window.width_mm) <= 0:
        raise BadInput(f"The window lies off {number}.")
    content = small_view(part.pixels, longest_px)
    longest_mm = max(window.length_mm, window.width_mm)
    return FacePicture(content, max(laid.mm_per_px, longest_mm / longest_px), photo.number, photo.piece)


def pictured(open_work: "OpenWork", numbers: Collection[str]) -> dict[tuple[str, Face], int]:
    """Which faces of these pieces have a picture, of themselves or of what they were cut from: its photo."""
    found: dict[tuple[str, Face], int] = {}
    with open_work(reading=True) as work:
        family = {number: [number] for number in numbers}
        for line in family.values():
            while (piece := work.pieces.get(line[-1])).parent is not None and piece.window is not None:
                line.append(piece.parent)
        photos = work.photos.standing(sorted({each for line in family.values() for each in line}))
    for number, line in family.items():
        for face in (Face.A, Face.B):
            photo = next((photos[each, face] for each in line if (each, face) in photos), None)
            if photo is not None:
                found[number, face] = photo.number
    return found


def show_faces(
    open_work: "OpenWork", which: Boards, face: Face | None = None, *, only_open: bool = False
) -> bytes:
    """One sheet with the photographed faces of several boards, each with what is known of it drawn on.

    only_open: those on which a suggestion waits. What was cut from a photographed board is shown where it is
    named. Raises NotFound; BadInput where there is nothing to show, or more than one sheet holds.
    """
    from stockyard.photos.kept_face import as_jpeg, reduced, sheet

    sides = (Face.A, Face.B) if face is None else (face,)
    with open_work(reading=True) as work:
        pieces = pieces_named(work, which)
        read = {(each.photo.piece, each.photo.face): each for each in faces_of(work, pieces.values())}
        wanted = [
            (number, side)
            for number in pieces
            for side in sides
            if (number, side) in read or (which.numbers and not only_open)
        ]
        if only_open:
            wanted = [key for key in wanted if read[key].counts["open"]]
        if len(wanted) > _MOST_ON_A_SHEET:
            raise BadInput(f"One sheet holds {_MOST_ON_A_SHEET} faces, not {len(wanted)}; name fewer boards.")
        found = []
        for number, side in sorted(wanted):
            with contextlib.suppress(BadInput):  # the other face of a board need not be photographed
                laid = reduced(_face(work, number, side)[1])
                found.append((f"{number}  face {side.value}", laid, _marks(work, number, side)))
    if not found and only_open:
        raise BadInput("Nothing waits to be decided on these boards.")
    if not found:
        raise BadInput("None of these boards was photographed; add a photo with `stockyard photo add`.")
    return as_jpeg(sheet(found))


def picture_file(open_work: "OpenWork", digest: str) -> tuple[bytes, str]:
    """A picture as it was kept, and the name it was handed in by. digest: of it. Raises NotFound."""
    with open_work(reading=True) as work:
        picture = work.photos.find_picture(digest)
        if picture is None:
            raise NotFound("picture", digest[:12])
        return work.picture_files.read(f"{picture.digest}.{picture.extension}"), picture.name


def small_view_of(open_work: "OpenWork", photo_number: int) -> bytes:
    """A small view of a photographed face, as a JPEG. Raises NotFound."""
    with open_work(reading=True) as work:
        photo = work.photos.get(photo_number)
        return work.picture_files.read(f"{photo.thumb_digest}.jpg")


def _face(work: "UnitOfWork", number: str, face: Face) -> tuple[Photo, "AtScale"]:
    from stockyard.photos.kept_face import KeptFace, cut_out, open_face

    photo = work.photos.standing([number]).get((number, face))
    if photo is not None:
        pixels = open_face(work.picture_files.read(f"{photo.face_digest}.jpg"))
        return photo, KeptFace(
            pixels, photo.scale.mm_per_px, photo.length_mm, photo.width_mm, photo.scale.covered
        )
    piece = work.pieces.get(number)
    if piece.parent is None or piece.window is None:
        raise BadInput(
            f"Face {face.value} of {number} was never photographed; add a photo with "
            f"`stockyard photo add {number} --face {face.value} FILE`."
        )
    photo, whole = _face(work, piece.parent, face)
    return photo, cut_out(whole, piece.window)


def _marks(work: "UnitOfWork", number: str, face: Face) -> list[tuple[str, Outline, tuple[int, int, int]]]:
    marks = [
        (f"/{each.defect.id.rpartition('/')[2]} {_words(each.defect.kind)}", each.defect.outline, _MAPPED)
        for each in work.defects.of_piece(number)
        if each.defect.face in (face, Face.BOTH)
    ]
    for read in faces_of(work, [work.pieces.get(number)]):
        marks += [
            (f":{offer.suggested.number} {_words(offer.suggested.kind)}", offer.outline, _OPEN)
            for offer in read.offers
            if read.photo.face is face and offer.open and offer.same_as is None
        ]
    return marks


def _words(kind: str) -> str:
    return kind.replace("_", " ")
