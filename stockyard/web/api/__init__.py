"""The JSON interface under /api: each module here holds the routes of one noun in an `api`.

Names and formats are those of the interchange files: lengths in mm, short names, plain numbers. Unknown keys
are refused. Errors are problem details, and a list says in `next` where to go on.
"""

from functools import cache
from importlib import import_module

from stockyard.web.api.routes import Api

NOUNS = (
    "boards",
    "defects",
    "photos",
    "windows",
    "moisture",
    "deliveries",
    "jobs",
    "plans",
    "sheets",
    "stock",
    "stocktakes",
    "errands",
    "about",
    "health",
)
"""Every module of the interface. To add one, write the module and put its name here."""


@cache
def every_api() -> tuple[Api, ...]:
    """The routes of every noun."""
    found = (import_module(f"stockyard.web.api.{name}").api for name in NOUNS)
    return tuple(each for each in found if isinstance(each, Api))
