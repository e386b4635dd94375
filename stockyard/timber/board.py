"""A board: one piece of timber on the rack, or an offcut put back on it."""

from dataclasses import dataclass, field
from decimal import Decimal

from stockyard.measures.colour import Lab
from stockyard.timber.defect import Defect, Face


@dataclass(frozen=True, slots=True)
class Distortion:
    """How far a board is from straight and flat, over the whole board. [mm, >= 0; 0 where not measured]

    bow: along the length, off the face; spring: along the length, off the edge; cup: across the width;
    twist: a corner's rise off the plane of the other three.
    """

    bow_mm: float = 0.0
    spring_mm: float = 0.0
    cup_mm: float = 0.0
    twist_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Board:
    """One board as selection sees it.

    length_mm, width_mm, thickness_mm: > 0. value: what it stands in the books for, >= 0.
    moisture_pct: the newest corrected reading, None when never read. heart_face: the face towards the pith.
    colour_a, colour_b: mean CIELAB colour of each face, None where not measured.
    """

    id: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    value: Decimal
    moisture_pct: float | None = None
    distortion: Distortion = field(default_factory=Distortion)
    heart_face: Face | None = None
    colour_a: Lab | None = None
    colour_b: Lab | None = None
    defects: tuple[Defect, ...] = ()

    def colour(self, face: Face) -> Lab | None:
        """Mean colour of face A or B."""
        return self.colour_a if face is Face.A else self.colour_b
