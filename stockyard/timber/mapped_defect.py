"""A defect as it stands on a piece's map: what it is, what was done to it, and how it got there."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from stockyard.timber.defect import Defect


class DefectState(StrEnum):
    """What was done to it. A stabilised or filled defect is still a defect."""

    OPEN = "open"
    STABILISED = "stabilised"
    FILLED = "filled"


class DefectOrigin(StrEnum):
    """Who put it on the map."""

    HAND = "hand"
    PHOTO = "photo"
    INHERITED = "inherited"


@dataclass(frozen=True, slots=True)
class MappedDefect:
    """One version of a defect of a piece.

    defect: what and where; its id is the piece's number and the defect's own ("SG-0017/2"). version: 1 as
    first mapped. removed: taken off the map. at, who, cause: of this version; filled in by the records.
    """

    piece: str
    defect: Defect
    state: DefectState = DefectState.OPEN
    note: str = ""
    origin: DefectOrigin = DefectOrigin.HAND
    removed: bool = False
    version: int = 1
    cause: str = ""
    at: datetime | None = None
    who: str = ""
