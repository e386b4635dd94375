"""Correct what was measured of a board, or say where it now stands. What it was stays on record."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from math import isfinite
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault
from stockyard.grading.straightness import Measured, whole_board
from stockyard.records import retried
from stockyard.timber.defect import Face
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

_GREATEST = {
    "length_mm": 20_000,
    "width_mm": 3_000,
    "thickness_mm": 600,
    "bow_mm": 500,
    "spring_mm": 500,
    "cup_mm": 100,
    "twist_mm": 300,
}
_SIZES = ("length_mm", "width_mm", "thickness_mm")
_ABOUT = ("rings_unknown", "measured_over_mm")


@dataclass(frozen=True, slots=True)
class Correction:
    """New facts of a board; None leaves a fact as it is.

    Sizes over 0, distortion from 0, all in mm; heart_face A or B; colours as CIELAB (L* 0..100, a*, b*).
    ring_angle_deg: between growth rings and wide face, 0 for backsawn to 90 for quartersawn; rings_unknown
    forgets it. measured_over_mm: the length (for cup the width) over which a distortion was measured, by
    fact; one that is not named is of the whole board, one that is will be carried to the whole board.
    """

    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    bow_mm: float | None = None
    spring_mm: float | None = None
    cup_mm: float | None = None
    twist_mm: float | None = None
    heart_face: Face | None = None
    ring_angle_deg: float | None = None
    rings_unknown: bool = False
    measured_over_mm: Mapping[str, float] = field(default_factory=dict)
    colour_a: tuple[float, float, float] | None = None
    colour_b: tuple[float, float, float] | None = None
    place: str | None = None
    note: str | None = None


def correct_board(open_work: "OpenWork", number: str, correction: Correction, because: str = "") -> Piece:
    """Correct a piece's facts. A new size changes its volume, never what it is worth.

    Raises BadInput for impossible figures, for a size that would leave a mapped defect off the board, and
    when nothing is corrected; NotFound for no such board.
    """
    facts = {
        each.name: value
        for each in fields(correction)
        if each.name not in _ABOUT and (value := getattr(correction, each.name)) is not None
    }
    if correction.rings_unknown:
        facts["ring_angle_deg"] = None
    if not facts:
        raise BadInput(f"Nothing was given to correct {number} with.")

    def correct(work: "UnitOfWork") -> Piece:
        carried = _carried(correction, facts, work.pieces.get(number))
        return correct_within(work, number, facts | carried, because)

    return retried(open_work, correct)


def _carried(correction: Correction, facts: Mapping[str, Any], piece: Piece) -> dict[str, float]:
    """The distortions that were measured over a part of the board, carried to the whole of it.

    Raises BadInput for a part that is longer than the board.
    """
    length, width = facts.get("length_mm", piece.length_mm), facts.get("width_mm", piece.width_mm)
    parts = {
        fact: Measured(facts[fact], over)
        for fact, over in correction.measured_over_mm.items()
        if fact in facts
    }
    longer = [
        Fault(f"{fact} measured over", f"at most {limit:g} mm, the board's own", f"{part.over_mm:g} mm")
        for fact, part in parts.items()
        if part.over_mm > (limit := width if fact == "cup_mm" else length)
    ]
    if longer:
        raise BadInput(f"{piece.number} cannot have been measured so; nothing was written.", longer)
    whole = whole_board(length, width, **{fact.removesuffix("_mm"): part for fact, part in parts.items()})
    return {fact: round(getattr(whole, fact), 2) for fact in parts}


def correct_within(work: "UnitOfWork", number: str, facts: Mapping[str, Any], because: str) -> Piece:
    """Correct facts of a piece as part of a larger piece of work; raises as `correct_board` does."""
    faults = [*impossible(facts), *beyond(work, number, facts)]
    if faults:
        raise BadInput(f"{number} cannot be corrected so; nothing was written.", faults)
    return work.pieces.change(number, cause=because, **facts)


def beyond(work: "UnitOfWork", number: str, facts: Mapping[str, Any]) -> list[Fault]:
    """The mapped defects that would reach beyond a piece of that size. Raises NotFound."""
    piece = work.pieces.get(number)
    length, width = facts.get("length_mm", piece.length_mm), facts.get("width_mm", piece.width_mm)
    return [
        Fault(f"defect {mapped.defect.id}", f"an outline within {length:g} x {width:g} mm", "beyond it")
        for mapped in work.defects.of_piece(number)
        if any(x > length or y > width for x, y in mapped.defect.outline)
    ]


def move_boards(open_work: "OpenWork", numbers: tuple[str, ...], place: str, because: str = "") -> None:
    """Say where pieces now stand, all or none.

    Raises NotFound for the first that is not there, BadInput for one that is gone.
    """

    def move(work: "UnitOfWork") -> None:
        for number in numbers:
            work.pieces.change(number, cause=because, place=place.strip())

    retried(open_work, move)


def impossible(facts: Mapping[str, Any]) -> list[Fault]:
    """What no piece of timber can measure."""
    faults = []
    for name, value in facts.items():
        if name in _GREATEST and isinstance(value, int | float):
            least = 1 if name in _SIZES else 0
            if not isfinite(value) or not least <= value <= _GREATEST[name]:
                faults.append(Fault(name, f"{least} to {_GREATEST[name]:,} mm", f"{value:g}"))
        if name == "ring_angle_deg" and isinstance(value, int | float) and not 0 <= value <= 90:
            faults.append(Fault(name, "0 to 90 degrees", f"{value:g}"))
        if name in ("colour_a", "colour_b") and isinstance(value, tuple):
            good = all(isfinite(part) for part in value) and 0 <= value[0] <= 100
            if not good or any(abs(part) > 150 for part in value[1:]):
                faults.append(Fault(name, "L* of 0 to 100, a* and b* within 150", str(value)))
        if name == "heart_face" and value is Face.BOTH:
            faults.append(Fault(name, "A or B", "both"))
    return faults
