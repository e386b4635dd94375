"""What repositories share: the unit of work they belong to, and asking for many rows by name."""

from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import Connection

if TYPE_CHECKING:
    from stockyard.records.unit_of_work import UnitOfWork

Item = TypeVar("Item")

AT_ONCE = 5_000
"""Most values in one IN (...): SQLite takes 32,766 and PostgreSQL 65,535 parameters."""


class Repository:
    """One noun's way in and out of the database, within one unit of work."""

    def __init__(self, work: "UnitOfWork") -> None:
        self._work = work

    @property
    def _connection(self) -> Connection:
        return self._work.connection

    @property
    def _signature(self) -> dict[str, Any]:
        """Who wrote a line of history, and when."""
        return {"at": self._work.now, "who": self._work.who}


def chunks(items: Iterable[Item], size: int = AT_ONCE) -> Iterator[Sequence[Item]]:
    """The items in runs of at most `size`."""
    listed = list(items)
    for start in range(0, len(listed), size):
        yield listed[start : start + size]


def near(name: str, names: Iterable[str]) -> tuple[str, ...]:
    """Up to three names most like `name`, the likeliest first."""
    folded = {each.casefold(): each for each in names}
    return tuple(folded[key] for key in get_close_matches(name.casefold(), folded, n=3, cutoff=0.6))
