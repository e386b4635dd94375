"""List the rack: which pieces are there that are at least so big, of that species, in that place."""

from dataclasses import replace
from typing import TYPE_CHECKING

from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


def list_boards(open_work: "OpenWork", query: RackQuery) -> tuple[Piece, ...]:
    """The pieces that the query asks for, by number.

    Raises NotFound when it names a species or docket that the yard does not know, with near names.
    """
    with open_work(reading=True) as work:
        species = tuple(work.species.get(name).name for name in query.species)
        if query.delivery is not None:
            work.deliveries.get(query.delivery, query.supplier)
        return tuple(work.pieces.find(replace(query, species=species)))
