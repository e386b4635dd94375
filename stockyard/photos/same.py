"""Which suggestions are one and the same: as a defect already mapped, or as one crack through the board."""

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from stockyard.photos.detect import FaceSuggestion
from stockyard.timber import Defect, DefectKind, Face, Outline

NEAR_MM = 3.0  # how well a defect's place is known from a photograph
_LEAN_MM = 12.0  # how far a crack may lean from one face to the other
_CRACKS = frozenset({DefectKind.CRACK, DefectKind.CHECK, DefectKind.SPLIT, DefectKind.SHAKE})


@dataclass(frozen=True, slots=True)
class Match:
    """A suggestion that meets a mapped defect.

    suggestion: its place in the list. defect: the mapped defect's id. overlap: shared area over the area of
    both together, 0 when they only lie near each other.
    """

    suggestion: int
    defect: str
    overlap: float


@dataclass(frozen=True, slots=True)
class Through:
    """A crack seen on both faces.

    on_a, on_b: places in the two lists. outline: around both [mm].
    """

    on_a: int
    on_b: int
    outline: Outline


def already_mapped(
    suggestions: Sequence[FaceSuggestion], face: Face, defects: Sequence[Defect], near_mm: float = NEAR_MM
) -> tuple[Match, ...]:
    """The mapped defect that each suggestion meets, if any: the one it shares most with.

    face: the photographed one; defects of the other face do not count.
    """
    here = [(defect, _shape(defect.outline)) for defect in defects if defect.face in (face, Face.BOTH)]
    matches = []
    for place, suggestion in enumerate(suggestions):
        shape = _shape(suggestion.outline)
        met = [
            (shape.intersection(other).area / shape.union(other).area, -shape.distance(other), defect.id)
            for defect, other in here
            if shape.distance(other) <= near_mm
        ]
        if met:
            overlap, _, defect_id = max(met)
            matches.append(Match(place, defect_id, round(overlap, 4)))
    return tuple(matches)


def through_cracks(
    on_a: Sequence[FaceSuggestion], on_b: Sequence[FaceSuggestion], lean_mm: float = _LEAN_MM
) -> tuple[Through, ...]:
    """Cracks of face A and of face B that lie one behind the other: offered as one through the board.

    They share at least half the shorter one's length and lie within `lean_mm` of each other across.
    Each is paired once, those that share most length first.
    """
    pairs = []
    for a, first in enumerate(on_a):
        for b, second in enumerate(on_b):
            if first.seen.kind not in _CRACKS or second.seen.kind not in _CRACKS:
                continue
            one, other = _shape(first.outline), _shape(second.outline)
            shared = min(one.bounds[2], other.bounds[2]) - max(one.bounds[0], other.bounds[0])
            shorter = min(one.bounds[2] - one.bounds[0], other.bounds[2] - other.bounds[0])
            if shared >= 0.5 * shorter and one.distance(other) <= lean_mm:
                pairs.append((shared, a, b, one.union(other).convex_hull))
    taken_a: set[int] = set()
    taken_b: set[int] = set()
    found = []
    for _, a, b, hull in sorted(pairs, key=lambda pair: (-pair[0], pair[1], pair[2])):
        if a not in taken_a and b not in taken_b:
            taken_a.add(a)
            taken_b.add(b)
            ring = tuple((round(float(x), 2), round(float(y), 2)) for x, y in hull.exterior.coords[:-1])
            found.append(Through(a, b, ring))
    return tuple(found)


def _shape(outline: Outline) -> BaseGeometry:
    shape = Polygon(outline)
    return shape if shape.is_valid else make_valid(shape)
