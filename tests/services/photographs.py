"""Photographs to test on: sample pictures, boards of their size, and suggestions as a reading makes them."""

import io
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image

from stockyard.records import Yard
from stockyard.services.put_to_scale import GivenPicture
from stockyard.timber.defect import DefectKind, Face, Outline
from stockyard.timber.photo import KeptPicture, Photo, PhotoScale, SuggestedDefect
from tests.services.yards import receive

SAMPLES = Path(__file__).parents[2] / "sample_images"


def sample(name: str) -> GivenPicture:
    """A sample picture, such as "SG-0001-A"."""
    path = SAMPLES / f"{name}.jpg"
    return GivenPicture(path.read_bytes(), path.name)


def truth(name: str):
    """What is on a sample picture."""
    return json.loads((SAMPLES / f"{name}.json").read_text())


def board_for(yard: Yard, name: str, docket: str = "1") -> str:
    """Receive a spotted gum board of the size of the one on a sample picture. Returns its number."""
    known = truth(name)
    row = f"spotted gum,{known['length_mm']},{known['width_mm']},{known['thickness_mm']},40"
    return receive(yard, row, docket=docket).pieces[0].number


def as_file(pixels: np.ndarray, kind: str = "PNG", **more: object) -> bytes:
    """Pixels as the bytes of a picture file."""
    kept = io.BytesIO()
    Image.fromarray(pixels).save(kept, kind, **more)
    return kept.getvalue()


def line(x0: float, x1: float, y: float, opening: float = 1.0) -> Outline:
    """The outline of a straight crack along the grain."""
    return ((x0, y), (x1, y), (x1, y + opening), (x0, y + opening))


def suggested(
    outline: Outline,
    kind: DefectKind = DefectKind.CRACK,
    confidence: float = 0.9,
    could_be: tuple[DefectKind, ...] = (),
) -> SuggestedDefect:
    """A suggestion not yet kept."""
    return SuggestedDefect("", 0, Face.A, kind, outline, confidence, could_be, opening_mm=0.5)


def keep_photo(
    yard: Yard, board: str, face: Face, found: Sequence[SuggestedDefect] | None, content: bytes | None = None
) -> Photo:
    """A photo of a face and, unless None, one reading of it, as if photographed; its files are there."""
    content = content or f"{board} {face}".encode()
    with yard.open_work() as work:
        piece = work.pieces.get(board)
        with work.picture_files.adding() as adding:
            digest = adding.put(content, "jpg")
            picture = KeptPicture(digest, digest, "jpg", digest, len(content), 4, 3, "IMG_1.jpg")
            scale = PhotoScale("outline", 0.5, (0.5, 0.5), (0.0, 0.0))
            photo = work.photos.add(
                Photo(0, board, face, (picture,), piece.length_mm, piece.width_mm, scale, digest, digest)
            )
            if found is not None:
                work.suggestions.add(photo, {"least_mm": 2.0}, "by hand", found)
            work.commit()
    return photo
