"""One screen: its routes, each with what it needs, and its place in the navigation."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter

from stockyard.web.access import FORM_MB, Need, needs
from stockyard.web.gate import Gated


class Screen:
    """One screen: its routes, and its place in the navigation.

    name: of its texts and templates. entry: where the navigation leads, "" for a screen that is not in it.
    first: stands among the few that are always in reach on a phone.
    """

    def __init__(self, name: str, entry: str = "", *, first: bool = False) -> None:
        self.name, self.entry, self.first = name, entry, first
        self.router = APIRouter(include_in_schema=False, route_class=Gated)

    def page(self, path: str, need: Need = Need.READER) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        """A page to look at."""

        def register(endpoint: Callable[..., Any]) -> Callable[..., Any]:
            return self.router.get(path, response_model=None)(needs(need)(endpoint))

        return register

    def action(
        self, path: str, need: Need = Need.MAKER, *, at_most_mb: float = FORM_MB
    ) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
        """Something a form does. Answer with `visit.see_other(...)`, so that a reload does not repeat it."""

        def register(endpoint: Callable[..., Any]) -> Callable[..., Any]:
            said = needs(need, at_most_mb=at_most_mb)(endpoint)
            return self.router.post(path, response_model=None)(said)

        return register
