"""Errand: long work watched from its own page, which may be closed and come back to."""

from fastapi.responses import Response

from stockyard.services.errands import show_errand, stop_errand
from stockyard.web.api.routes import Whole
from stockyard.web.errand_words import what_came_of
from stockyard.web.forms import Form
from stockyard.web.screen import Screen
from stockyard.web.visit import Here

screen = Screen("errand")


@screen.page("/errand/{number}")
def errand(visit: Here, number: Whole) -> Response:
    """How an errand stands; without scripts the page asks again by itself."""
    found = show_errand(visit.open_work, number)
    return visit.page("errand.html", errand=found, leads_to=what_came_of(found))


@screen.action("/errand/{number}/stop")
def stop(visit: Here, number: Whole, form: Form) -> Response:
    """Stop an errand, keeping the best so far or nothing."""
    stop_errand(visit.open_work, number, keep=form.text("keep") == "1")
    return visit.see_other(f"/errand/{number}")
