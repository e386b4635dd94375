"""People who may use the yard over the network, and what each may do."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Role(StrEnum):
    """What a person may do: look, or look and change."""

    READER = "reader"
    MAKER = "maker"

    def covers(self, needed: "Role") -> bool:
        """May whoever has this role do what asks for `needed`?"""
        return self is Role.MAKER or needed is Role.READER


@dataclass(frozen=True, slots=True)
class Person:
    """One person. name: as it is written beside every change. has_left: may no longer sign in."""

    name: str
    role: Role
    has_left: bool = False
    at: datetime | None = None
    who: str = ""
