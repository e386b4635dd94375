"""What adding a photograph would come to, without storing anything: for a screen that asks before it keeps.

    preview_photo(open_work, number, face, pictures, how) -> PhotoPreview

Takes what `add_photo` takes. What keeps a decoded picture from being put to scale is told in `refused`, with
corners to be moved by hand; given back as HowTaken(corners_px=...), they come before what is found.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Broken, Fault
from stockyard.services.add_photo import photographed
from stockyard.services.put_to_scale import GivenPicture, HowTaken, decoded, laid_out
from stockyard.timber.defect import Face, Outline
from stockyard.timber.photo import PhotoScale
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.photos.decode import Picture
    from stockyard.records.connect import OpenWork


@dataclass(frozen=True, slots=True)
class PhotoPreview:
    """What adding would come to. Exactly one of scale and refused is there.

    sizes_px: (width, height) of each picture, upright, in order from end 1. refused, faults: why the face
    cannot be put to scale. corners_px: of the face in each picture, in the order (0, 0), (L, 0), (L, W),
    (0, W) of the board's frame; of a single picture that is refused, a proposal to be moved by hand.
    face_jpeg: a small view of the face.
    """

    sizes_px: tuple[tuple[int, int], ...]
    scale: PhotoScale | None
    refused: str | None
    faults: tuple[Fault, ...]
    corners_px: tuple[Outline, ...]
    face_jpeg: bytes | None


def preview_photo(
    open_work: "OpenWork",
    number: str,
    face: Face,
    pictures: Sequence[GivenPicture],
    how: HowTaken | None = None,
) -> PhotoPreview:
    """What `add_photo` would find, without storing anything.

    Raises NotFound, and BadInput for what is no picture; what keeps a decoded picture from being put to scale
    is told in `refused`.
    """
    how = (how or HowTaken()).checked()
    with open_work(reading=True) as work:
        piece = photographed(work.pieces.get(number), face)
    seen, _ = decoded(pictures, how)
    sizes = tuple((each.pixels.shape[1], each.pixels.shape[0]) for each in seen)
    try:
        laid = laid_out(seen, piece.length_mm, piece.width_mm, face, how)
    except BadInput as trouble:
        corners = tuple(_proposed(each, piece, face, how) for each in seen) if len(seen) == 1 else ()
        return PhotoPreview(sizes, None, trouble.message, trouble.faults, corners, None)
    from stockyard.photos.kept_face import small_view

    view = small_view(laid.face.pixels, 1600)
    return PhotoPreview(sizes, laid.scale, None, (), laid.scale.corners_px, view)


def _proposed(picture: "Picture", piece: Piece, face: Face, how: HowTaken) -> Outline:
    """Corners to begin with where a hand must give them: what stands out, else well inside the picture."""
    import numpy as np

    from stockyard.photos.outline import find_outline
    from stockyard.photos.scale import Side, begun_at, board_corners

    rows, columns = picture.pixels.shape[:2]
    try:
        quad = find_outline(picture.pixels, whole=False).corners_px
    except BadInput:
        left, top, right, bottom = 0.1 * columns, 0.4 * rows, 0.9 * columns, 0.6 * rows
        if rows > columns:
            left, top, right, bottom = 0.4 * columns, 0.1 * rows, 0.6 * columns, 0.9 * rows
        quad = np.array([(left, top), (right, top), (right, bottom), (left, bottom)], float)
        if rows > columns:
            quad = np.roll(quad, -1, axis=0)
    quad = begun_at(quad, Side(how.end1)).clip((0, 0), (columns - 1, rows - 1))
    corners = {
        (round(x), round(y)): (round(float(u), 1), round(float(v), 1))
        for (x, y), (u, v) in zip(board_corners((1, 1), face), quad, strict=True)
    }
    if len(corners) != 4:
        raise Broken("A face has four corners.")
    return tuple(corners[corner] for corner in ((0, 0), (1, 0), (1, 1), (0, 1)))
