"""Rack: every piece on hand, filtered as one types, a page at a time, with what all of them come to."""

from typing import TYPE_CHECKING, Any

from fastapi.responses import Response
from markupsafe import Markup

from stockyard.drawings.board_ends import board_ends
from stockyard.drawings.board_strip import LEAST_PX, board_strip
from stockyard.services.look_along_rack import look_along_rack, signs_on_rack
from stockyard.services.look_at_shelves import look_at_shelves
from stockyard.timber.piece import PieceKind
from stockyard.timber.rack_query import STANDING, RackOrder
from stockyard.web.rack_words import RackWords, words_of
from stockyard.web.screen import Screen
from stockyard.web.visit import Here

if TYPE_CHECKING:
    from stockyard.services.look_along_rack import RackPage

screen = Screen("rack", "/rack", first=True)

STRIP_PX = 240.0


@screen.page("/rack")
def rack(visit: Here) -> Response:
    """The rack, filtered as the address says."""
    asked = words_of(visit.request.query_params, visit.ways)
    page = look_along_rack(visit.open_work, asked.query(), asked.order, after=asked.after)
    return visit.page(
        "rack.html",
        asked=asked,
        signs=signs_on_rack(visit.open_work),
        statuses=[status.value for status in STANDING],
        kinds=[kind.value for kind in PieceKind],
        orders=[order.value for order in RackOrder],
        **_shown(page, visit, asked),
    )


@screen.page("/rack/rows")
def rack_rows(visit: Here) -> Response:
    """The rows alone, for the script that fetches them as one types or scrolls."""
    asked = words_of(visit.request.query_params, visit.ways)
    page = look_along_rack(
        visit.open_work, asked.query(), asked.order, after=asked.after, totals=asked.after is None
    )
    return visit.page("parts/rack_rows.html", asked=asked, **_shown(page, visit, asked))


@screen.page("/rack/shelves")
def shelves(visit: Here) -> Response:
    """What stands in each place, seen from the ends of the boards."""
    found = look_at_shelves(visit.open_work, after=visit.request.query_params.get("after"))
    last = found.shelves[-1].place if found.more else None
    return visit.page(
        "shelves.html",
        found=found,
        ends={each.place: Markup(board_ends(each.sizes_mm)) for each in found.shelves},
        further=visit.url("/rack/shelves", {"after": last}) if last is not None else "",
    )


def _high(width_mm: float, longest_mm: float) -> float:
    return round(max(LEAST_PX, width_mm * STRIP_PX / longest_mm), 1)


def _shown(page: "RackPage", visit: Here, asked: RackWords) -> dict[str, Any]:
    longest = max(2400.0, *(piece.length_mm for piece in page.pieces)) if page.pieces else 2400.0
    last = page.pieces[-1].number if page.more else None
    return {
        "page": page,
        "strips": {
            number: Markup(board_strip(board, longest, STRIP_PX)) for number, board in page.boards.items()
        },
        "further": visit.url("/rack", {**asked.plain(), "after": last}) if last else "",
        "photos": page.photos,
        "sides": {
            number: (round(board.length_mm * STRIP_PX / longest, 1), _high(board.width_mm, longest))
            for number, board in page.boards.items()
        },
    }
