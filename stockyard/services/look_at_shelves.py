"""Look at the shelves: what stands in each place, what it comes to, and the ends of its first boards.

look_at_shelves(open_work, after, limit) -> Shelves
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.timber.rack_query import RackQuery, RackTotals

if TYPE_CHECKING:
    from stockyard.records import OpenWork

ENDS = 36
"""So many boards of a place are shown."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """One place. sizes_mm: width and thickness of its first boards, the thickest first."""

    place: str
    totals: RackTotals
    sizes_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Shelves:
    """Places by name. nowhere: how many pieces have no place. more: other places come after these."""

    shelves: tuple[Shelf, ...]
    nowhere: int
    more: bool
    currency: str


def look_at_shelves(open_work: "OpenWork", *, after: str | None = None, limit: int = 40) -> Shelves:
    """The places that come after one by name, at most `limit`."""
    with open_work(reading=True) as work:
        places = work.rack.places()
        named = [place for place in places if place and (after is None or place > after)]
        return Shelves(
            shelves=tuple(
                Shelf(
                    place,
                    work.rack.totals(RackQuery(place=place)),
                    tuple(work.rack.ends(place, ENDS)),
                )
                for place in named[:limit]
            ),
            nowhere=places.get("", 0),
            more=len(named) > limit,
            currency=work.workshop.currency,
        )
