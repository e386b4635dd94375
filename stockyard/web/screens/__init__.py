"""The screens, in the order of the navigation: each is a module here with a `screen`."""

from functools import cache
from importlib import import_module

from stockyard.web.screen import Screen

SCREENS = (
    "today",
    "rack",
    "board",
    "photograph",
    "delivery",
    "job",
    "answers",
    "plan",
    "cut",
    "sheets",
    "stock",
    "count",
    "people",
    "errand",
    "more",
    "sign_in",
)
"""Every screen's module. To add one, write the module and put its name here."""


@cache
def every_screen() -> tuple[Screen, ...]:
    """Every screen there is."""
    found = (import_module(f"stockyard.web.screens.{name}").screen for name in SCREENS)
    return tuple(each for each in found if isinstance(each, Screen))
