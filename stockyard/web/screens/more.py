"""More: every screen by name, for phones, and how this device likes to be shown things."""

from fastapi.responses import Response

from stockyard.web.screen import Screen
from stockyard.web.visit import Here

screen = Screen("more")


@screen.page("/more")
def more(visit: Here) -> Response:
    """Every screen by name, and this device's ways."""
    return visit.page("more.html")
