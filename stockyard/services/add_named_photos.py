"""Take in the pictures of a whole delivery at once, each named for its board and face.

add_named_photos(open_work, pictures, keep_location) -> tuple[NamedFace, ...]
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused
from stockyard.services.add_photo import AddedPhoto, GivenPicture, HowTaken, add_photo
from stockyard.timber.defect import Face

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork

_NAME = re.compile(r"(?P<board>.+?)[-_ ]?(?P<face>[AB])(?:[-_ ]?(?P<part>\d{1,2}))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NamedFace:
    """What came of one face: the photo added, or why it was refused."""

    board: str
    face: Face
    added: AddedPhoto | None
    refused: str | None = None


def add_named_photos(
    open_work: "OpenWork", pictures: Sequence[GivenPicture], *, keep_location: bool = False
) -> tuple[NamedFace, ...]:
    """Add pictures named "SG-0003-A.jpg", or "SG-0003-A1.jpg", "SG-0003-A2.jpg" from end 1 on.

    Each face is added by itself: one that is refused keeps no other back, and nothing of it is stored.
    Raises BadInput, with nothing stored, where a name says no board of the yard and face.
    """
    faces: dict[tuple[str, Face], list[tuple[int, GivenPicture]]] = {}
    faults = []
    with open_work(reading=True) as work:
        for picture in pictures:
            said = _NAME.fullmatch(PurePath(picture.name).stem)
            try:
                board = work.pieces.get(said["board"].upper()).number if said else ""
            except BadInput:
                board = ""
            if said is None or not board:
                faults.append(
                    Fault(picture.name, "a board's number and a face, as in SG-0003-A.jpg or SG-0003-A1.jpg")
                )
                continue
            key = (board, Face(said["face"].upper()))
            faces.setdefault(key, []).append((int(said["part"] or 0), picture))
    if faults:
        raise BadInput("These names do not say what was photographed; nothing was stored.", faults)
    how = HowTaken(keep_location=keep_location)
    done = []
    for (board, face), parts in sorted(faces.items()):
        given = [picture for _, picture in sorted(parts, key=lambda part: part[0])]
        try:
            done.append(NamedFace(board, face, add_photo(open_work, board, face, given, how)))
        except (BadInput, Refused) as trouble:
            done.append(NamedFace(board, face, None, str(trouble)))
    return tuple(done)
