"""A panel a piece of furniture asks for."""

from dataclasses import dataclass
from enum import StrEnum


class Show(StrEnum):
    """How many faces of a panel are seen in the finished piece."""

    ONE = "one"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Panel:
    """A solid panel glued up from staves. All sizes are finished sizes in mm.

    species: any one of these, the same for all its staves. priority: 1 is the highest.
    """

    id: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    species: tuple[str, ...]
    staves_min: int
    staves_max: int
    stave_width_min_mm: float
    stave_width_max_mm: float
    show: Show = Show.ONE
    priority: int = 1
