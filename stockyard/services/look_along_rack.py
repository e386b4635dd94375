"""Look along the rack: the next pieces that a query asks for, with their maps, and what they all come to."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stockyard.timber.board import Board
from stockyard.timber.defect import Face
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackOrder, RackQuery, RackTotals

if TYPE_CHECKING:
    from stockyard.records import OpenWork

PAGE = 60
"""How many pieces are looked at in one go."""


@dataclass(frozen=True, slots=True)
class RackPage:
    """Some pieces of the rack. boards: as the drawings see them, by number. more: others come after them.

    photos: the photo that stands for face A, by number, of those that have one. totals: of everything the
    query asks for; None when they were not asked for. currency: of the worth.
    """

    pieces: tuple[Piece, ...]
    boards: Mapping[str, Board]
    photos: Mapping[str, int]
    more: bool
    totals: RackTotals | None
    currency: str


@dataclass(frozen=True, slots=True)
class RackSigns:
    """What can be chosen from: places, species and thicknesses [mm] on hand, with how many of each."""

    places: Mapping[str, int]
    species: Mapping[str, int]
    thicknesses: Mapping[float, int]


def look_along_rack(
    open_work: "OpenWork",
    query: RackQuery,
    order: RackOrder = RackOrder.NUMBER,
    *,
    after: str | None = None,
    limit: int = PAGE,
    totals: bool = True,
) -> RackPage:
    """The pieces that come after the one numbered `after`, at most `limit`.

    Raises NotFound for a species the yard does not know, with near names.
    """
    with open_work(reading=True) as work:
        species = tuple(work.species.get(name).name for name in query.species)
        asked = replace(query, species=species)
        pieces = work.rack.page(asked, order, after, limit + 1)
        shown = tuple(pieces[:limit])
        maps = work.defects.of_pieces([piece.number for piece in shown])
        return RackPage(
            pieces=shown,
            boards={
                piece.number: piece.as_board(each.defect for each in maps.get(piece.number, ()))
                for piece in shown
            },
            photos=work.photos.numbers((piece.number for piece in shown), Face.A),
            more=len(pieces) > limit,
            totals=work.rack.totals(asked) if totals else None,
            currency=work.workshop.currency,
        )


def signs_on_rack(open_work: "OpenWork") -> RackSigns:
    """What a rack can be asked for by choosing."""
    with open_work(reading=True) as work:
        return RackSigns(work.rack.places(), work.rack.species(), work.rack.thicknesses())
