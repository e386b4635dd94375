"""Which boards make which panels, cut where and laid how, at the least cost.

    from stockyard.selection import select
    plan = select(stock, job, seconds=10)

Values of `stockyard.timber` go in and come out, nothing else; every plan has passed the room's own checker,
which shares no code with the search. What each name needs is loaded when it is first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from stockyard.selection.check import check_plan
    from stockyard.selection.interchange import plan_document, read_job, read_plan, read_stock
    from stockyard.selection.search import Progress, select
    from stockyard.selection.wishes import Wishes

__all__ = [
    "Progress",
    "Wishes",
    "check_plan",
    "plan_document",
    "read_job",
    "read_plan",
    "read_stock",
    "select",
]

_HOMES = {
    "Progress": "search",
    "select": "search",
    "Wishes": "wishes",
    "check_plan": "check",
    "plan_document": "interchange",
    "read_job": "interchange",
    "read_plan": "interchange",
    "read_stock": "interchange",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value
