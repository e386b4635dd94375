"""Today: what needs a hand, each thing leading to where it is done."""

from fastapi.responses import Response

from stockyard.services.what_needs_a_hand import what_needs_a_hand
from stockyard.web.screen import Screen
from stockyard.web.visit import Here

screen = Screen("today", "/", first=True)


@screen.page("/")
def today(visit: Here) -> Response:
    """The day's list."""
    return visit.page("today.html", today=what_needs_a_hand(visit.open_work))
