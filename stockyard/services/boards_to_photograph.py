"""Which boards have a face that was never photographed, in the order they stand in.

boards_to_photograph(open_work, after, limit) -> tuple[Bare, ...]
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.timber.defect import Face
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork

_BOARDS = RackQuery(kinds=(PieceKind.BOARD,), status=(PieceStatus.FREE, PieceStatus.PROMISED))
_LOOKED_AT = 400
"""So many boards are looked at in one go: whoever has photographed them all goes on from the last."""


@dataclass(frozen=True, slots=True)
class Bare:
    """A board and the faces of it that no photograph shows."""

    piece: Piece
    faces: tuple[Face, ...]


def boards_to_photograph(
    open_work: "OpenWork", *, after: str | None = None, limit: int = 40
) -> tuple[Bare, ...]:
    """Boards on hand with a face to be photographed, by number, those behind `after` only."""
    with open_work(reading=True) as work:
        pieces = work.rack.page(_BOARDS, after=after, limit=_LOOKED_AT)
        standing = work.photos.standing([piece.number for piece in pieces])
    bare = []
    for piece in pieces:
        faces = tuple(face for face in (Face.A, Face.B) if (piece.number, face) not in standing)
        if faces:
            bare.append(Bare(piece, faces))
    return tuple(bare[:limit])
