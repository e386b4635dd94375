"""Take a photograph of a board's face into the yard: at true scale, its pictures kept, or nothing at all.

    add_photo(open_work, number, face, pictures, how)  -> AddedPhoto(photo, known, colour_used)
    take_back_photo(open_work, photo_number, because)  -> Photo

face: Face.A or Face.B. pictures: GivenPicture(content, name), several for a long board, each overlapping
the next. how: HowTaken(end1, corners_px, order, marker_mm, keep_location).
"""

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Refused, StockyardError
from stockyard.services.put_to_scale import GivenPicture, HowTaken, LaidOut, decoded, laid_out
from stockyard.timber.defect import Face, Outline
from stockyard.timber.photo import KeptPicture, Photo, PhotoColour
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.photos.decode import Picture
    from stockyard.records.connect import OpenWork
    from stockyard.records.picture_files import Adding
    from stockyard.records.unit_of_work import UnitOfWork

__all__ = ["AddedPhoto", "GivenPicture", "HowTaken", "add_photo", "take_back_photo"]

_EXTENSIONS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "TIFF": "tif", "HEIF": "heic"}


@dataclass(frozen=True, slots=True)
class AddedPhoto:
    """What came of it. known: the same pictures stood for this face already, and nothing was added.

    colour_used: the face's colour is now the board's own, for matching.
    """

    photo: Photo
    known: bool = False
    colour_used: bool = False


def add_photo(
    open_work: "OpenWork",
    number: str,
    face: Face,
    pictures: Sequence[GivenPicture],
    how: HowTaken | None = None,
) -> AddedPhoto:
    """Put pictures of one face to scale and keep them, all or nothing.

    The newest photo of a face is the one that stands for it. Its colour becomes the board's own where a
    card's white corrected it and none was logged. Raises NotFound; BadInput with the reason when the pictures
    cannot be read, put to scale or trusted; Refused when one already stands for another face or board.
    """
    from stockyard.photos.location import without_location
    from stockyard.records.picture_files import digest_of

    how = (how or HowTaken()).checked()
    with open_work(reading=True) as work:
        piece = photographed(work.pieces.get(number), face)
        _ = work.picture_files  # refused early where nobody has said where pictures lie
        known = _known(work, piece, face, pictures, how)
        flaws = tuple(
            each.defect.outline
            for each in work.defects.of_piece(number)
            if each.defect.face in (face, Face.BOTH)
        )
    if known is not None:
        return AddedPhoto(known, known=True)
    try:
        seen, order = decoded(pictures, how)
        laid = replace(laid_out(seen, piece.length_mm, piece.width_mm, face, how), order=order)
        given = [pictures[place] for place in order]
        kept = [
            each.content if how.keep_location else without_location(each.content, each.name) for each in given
        ]
    except BadInput as trouble:
        raise BadInput(
            f"Face {face.value} of {number}: {trouble.message} Nothing was stored.", trouble.faults
        ) from trouble
    colour, remarks = _colour(laid, flaws)
    scale = replace(laid.scale, remarks=laid.scale.remarks + remarks)
    files = [
        _Files(digest_of(each.content), content, each.name, picture)
        for each, content, picture in zip(given, kept, seen, strict=True)
    ]
    photo = Photo(0, number, face, (), piece.length_mm, piece.width_mm, scale, "", "", colour)
    try:
        return _stored(open_work, photo, files, laid, piece)
    except BaseException:
        # What was written and not recorded goes at once; should that fail too, the next one sweeps.
        with contextlib.suppress(StockyardError, OSError):
            sweep_interrupted(open_work)
        raise


def take_back_photo(open_work: "OpenWork", photo_number: int, because: str) -> Photo:
    """Have a photo that was a mistake stand no more; it stays on record, and so do defects accepted from it.

    Raises NotFound, BadInput without a reason, Refused when it was taken back already.
    """
    if not because.strip():
        raise BadInput("Say why the photo is taken back, with --because; it is kept with it.")
    with open_work() as work:
        work.photos.take_back(photo_number, because.strip())
        work.commit()
        return work.photos.get(photo_number)


def sweep_interrupted(open_work: "OpenWork") -> tuple[str, ...]:
    """Delete the files that someone stopped in the middle of adding left behind. Returns their names."""
    with open_work() as work:
        work.photos.hold()
        files = work.picture_files
        return files.sweep(work.photos.file_names()) if files.interrupted() else ()


@dataclass(frozen=True, slots=True)
class _Files:
    """A picture on its way in: the digest of what was handed in, what is kept of it, its name, its pixels."""

    given_digest: str
    content: bytes
    name: str
    picture: "Picture"


def _stored(
    open_work: "OpenWork", photo: Photo, files: Sequence[_Files], laid: LaidOut, seen: Piece
) -> AddedPhoto:
    from stockyard.photos.kept_face import as_jpeg, small_view

    face, thumb = as_jpeg(laid.face.pixels), small_view(laid.face.pixels)
    thumbs = [small_view(each.picture.pixels) for each in files]
    with open_work() as work:
        work.photos.hold()
        piece = photographed(work.pieces.get(photo.piece), photo.face)
        if (piece.length_mm, piece.width_mm) != (seen.length_mm, seen.width_mm):
            raise Refused(f"{piece.number} was given another size meanwhile; add its photo again.")
        if work.picture_files.interrupted():
            work.picture_files.sweep(work.photos.file_names())
        with work.picture_files.adding() as adding:
            kept = tuple(_kept(adding, each, small) for each, small in zip(files, thumbs, strict=True))
            added = work.photos.add(
                replace(
                    photo,
                    pictures=kept,
                    face_digest=adding.put(face, "jpg"),
                    thumb_digest=adding.put(thumb, "jpg"),
                )
            )
            used = _use_colour(work, piece, added)
            work.commit()
    return AddedPhoto(added, colour_used=used)


def _kept(adding: "Adding", file: _Files, small: bytes) -> KeptPicture:
    from stockyard.photos.location import says_location

    extension = _EXTENSIONS[file.picture.format]
    return KeptPicture(
        digest=adding.put(file.content, extension),
        given_digest=file.given_digest,
        extension=extension,
        thumb_digest=adding.put(small, "jpg"),
        size_bytes=len(file.content),
        width_px=file.picture.pixels.shape[1],
        height_px=file.picture.pixels.shape[0],
        name=file.name,
        taken=file.picture.taken,
        located=says_location(file.content),
    )


def _use_colour(work: "UnitOfWork", piece: Piece, photo: Photo) -> bool:
    """Give the board the face's colour where none was logged. One that no white corrected tells nothing."""
    logged = piece.colour_a if photo.face is Face.A else piece.colour_b
    if logged is not None or photo.colour is None or not photo.colour.corrected:
        return False
    cause = f"photo {photo.number}"
    if photo.face is Face.A:
        work.pieces.change(piece.number, cause=cause, colour_a=photo.colour.lab)
    else:
        work.pieces.change(piece.number, cause=cause, colour_b=photo.colour.lab)
    return True


def photographed(piece: Piece, face: Face) -> Piece:
    """The piece, if that face of it can be photographed. Raises BadInput."""
    if face is Face.BOTH:
        raise BadInput("A photograph shows one face; say A or B.")
    if not piece.on_hand:
        raise BadInput(f"{piece.number} is no longer on hand; photograph what was cut from it.")
    return piece


def _known(
    work: "UnitOfWork", piece: Piece, face: Face, pictures: Sequence[GivenPicture], how: HowTaken
) -> Photo | None:
    """The photo that these pictures made already, if it stands for this face and was asked for alike."""
    from stockyard.records.picture_files import digest_of

    digests = [digest_of(each.content) for each in pictures]
    for place, digest in enumerate(digests):
        if digest in digests[:place]:
            raise BadInput(f"{pictures[place].name} was given twice; give each picture once.")
        picture = work.photos.find_picture(digest)
        for photo in work.photos.showing(picture.digest) if picture else ():
            if (photo.piece, photo.face) != (piece.number, face):
                raise Refused(
                    f"{pictures[place].name} already is the picture of {photo.piece}, face "
                    f"{photo.face.value} (photo {photo.number}); choose another, or take that one back with "
                    f"`stockyard photo take-back {photo.number} --because WHY`."
                )
    newest = work.photos.standing([piece.number]).get((piece.number, face))
    if newest is None or (newest.length_mm, newest.width_mm) != (piece.length_mm, piece.width_mm):
        return None
    same = sorted(each.given_digest for each in newest.pictures) == sorted(digests)
    located = all(each.located for each in newest.pictures) or not how.keep_location
    return newest if same and located and dict(newest.scale.asked) == how.asked() else None


def _colour(laid: LaidOut, flaws: tuple[Outline, ...]) -> tuple[PhotoColour | None, tuple[str, ...]]:
    """The colour of the bare wood, and what is to be said of it."""
    from stockyard.photos.colour import face_colour, figure_direction
    from stockyard.photos.kept_face import bare_wood

    figure = figure_direction(laid.face.pixels, laid.face.mm_per_px)
    wood = bare_wood(laid.face, flaws)
    white, remarks = laid.scale.white, []
    found = None
    for balance in dict.fromkeys((white, None)):
        try:
            found = face_colour(laid.face.pixels, wood, balance)
            break
        except BadInput as trouble:
            remarks.append(trouble.message)
    if found is None:
        return None, tuple(remarks)
    colour = PhotoColour(
        found.lab, found.corrected, found.spread, figure.angle_deg, figure.strength, figure.across_share
    )
    return colour, tuple(remarks)
