"""Map a board's flaws by hand: add, edit and remove, with everything that stood before kept on record."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotFound
from stockyard.geometry.crack import crack_outline
from stockyard.geometry.outline import outline_faults
from stockyard.records import retried
from stockyard.timber import DefectKind, Face, Outline, Point
from stockyard.timber.mapped_defect import MappedDefect
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True)
class Sketch:
    """A defect as a person draws it, in mm of the board frame. Exactly one shape of the three.

    box: (x0, y0, x1, y1), corners in any order. polygon: at least three points. line: at least two points,
    for a crack that gapes `opening_mm`. None leaves a thing unsaid, or as it was when editing.
    """

    kind: DefectKind | None = None
    face: Face | None = None
    box: tuple[float, float, float, float] | None = None
    polygon: Sequence[Point] | None = None
    line: Sequence[Point] | None = None
    depth_mm: float | None = None
    opening_mm: float | None = None
    note: str | None = None


def add_defect(open_work: "OpenWork", number: str, sketch: Sketch) -> MappedDefect:
    """Put a defect on a board's map.

    Raises BadInput for a shape that leaves the board or crosses itself (the point is named), with everything
    else that is wrong; NotFound for no such board.
    """

    def add(work: "UnitOfWork") -> MappedDefect:
        piece = _on_hand(work.pieces.get(number))
        faults = _faults_of(sketch, piece.thickness_mm)
        if sketch.kind is None:
            faults.append(Fault("kind", "a kind of defect", "none"))
        if sketch.face is None:
            faults.append(Fault("face", "A, B or both", "none"))
        outline, shape_faults = _outline_of(sketch, piece)
        faults += shape_faults
        if outline is None and not shape_faults:
            faults.append(Fault("shape", "a box, a polygon or a line", "none"))
        if faults or outline is None or sketch.kind is None or sketch.face is None:
            raise BadInput(f"The defect cannot be mapped on {number}; nothing was written.", faults)
        return work.defects.add(
            number,
            sketch.kind,
            sketch.face,
            outline,
            depth_mm=sketch.depth_mm,
            opening_mm=sketch.opening_mm,
            note=sketch.note or "",
        )

    return retried(open_work, add)


def edit_defect(open_work: "OpenWork", defect_id: str, sketch: Sketch, because: str = "") -> MappedDefect:
    """Change what is drawn or said of a defect; the older version stays on record.

    Raises as `add_defect` does, and BadInput when nothing is changed.
    """
    return retried(open_work, lambda work: edit_within(work, defect_id, sketch, because))


def edit_within(work: "UnitOfWork", defect_id: str, sketch: Sketch, because: str = "") -> MappedDefect:
    """Change a defect as part of a larger piece of work; raises as `edit_defect` does."""
    standing = work.defects.get(defect_id)
    piece = _on_hand(work.pieces.get(standing.piece))
    faults = _faults_of(sketch, piece.thickness_mm)
    outline, shape_faults = _outline_of(sketch, piece)
    faults += shape_faults
    if faults:
        raise BadInput(f"{defect_id} cannot be changed so; nothing was written.", faults)
    given = {
        "kind": sketch.kind,
        "face": sketch.face,
        "outline": outline,
        "depth_mm": sketch.depth_mm,
        "opening_mm": sketch.opening_mm,
        "note": sketch.note,
    }
    changes = {name: value for name, value in given.items() if value is not None}
    if not changes:
        raise BadInput(f"Nothing was given to change {defect_id} with.")
    return work.defects.edit(defect_id, cause=because, **changes)


def remove_defect(open_work: "OpenWork", defect_id: str, because: str = "") -> None:
    """Take a defect off its board's map; what it was stays on record.

    Raises NotFound for no such defect.
    """

    def remove(work: "UnitOfWork") -> None:
        _on_hand(work.pieces.get(work.defects.get(defect_id).piece))
        work.defects.remove(defect_id, cause=because)

    retried(open_work, remove)


def list_defects(open_work: "OpenWork", number: str, *, history: bool = False) -> tuple[MappedDefect, ...]:
    """The defects on a board's map; with `history`, every version there ever was.

    Raises NotFound for no such board.
    """
    with open_work(reading=True) as work:
        mapped = work.defects.of_piece(number, removed=history)
        if not history:
            return mapped
        return tuple(version for each in mapped for version in work.defects.history(each.defect.id))


def kind_named(text: str) -> DefectKind:
    """The kind that a person means: "bark inclusion", "bark-inclusion" or "bark_inclusion".

    Raises NotFound, with near kinds.
    """
    from difflib import get_close_matches

    name = text.strip().casefold().replace(" ", "_").replace("-", "_")
    try:
        return DefectKind(name)
    except ValueError:
        near = get_close_matches(name, [kind.value for kind in DefectKind], n=3)
        raise NotFound("kind of defect", text, near or [kind.value for kind in DefectKind]) from None


def _on_hand(piece: Piece) -> Piece:
    if not piece.on_hand:
        raise BadInput(f"{piece.number} is no longer on hand, so its map cannot change.")
    return piece


def _faults_of(sketch: Sketch, thickness_mm: float) -> list[Fault]:
    faults = []
    depth, opening = sketch.depth_mm, sketch.opening_mm
    if depth is not None and not (isfinite(depth) and 0 <= depth <= thickness_mm):
        faults.append(Fault("depth", f"0 to {thickness_mm:g} mm, the board's thickness", f"{depth:g}"))
    if opening is not None and not (isfinite(opening) and 0 <= opening <= 100):
        faults.append(Fault("opening", "0 to 100 mm", f"{opening:g}"))
    return faults


def _outline_of(sketch: Sketch, piece: Piece) -> tuple[Outline | None, list[Fault]]:
    """The outline drawn, or None where none was; and what is wrong with it."""
    shapes = [shape for shape in (sketch.box, sketch.polygon, sketch.line) if shape is not None]
    if not shapes:
        return None, []
    if len(shapes) > 1:
        return None, [Fault("shape", "one of box, polygon and line", f"{len(shapes)} of them")]
    numbers = [value for shape in shapes for point in shape for value in _flat(point)]
    if not all(isfinite(value) for value in numbers):
        return None, [Fault("shape", "finite numbers", ", ".join(f"{value:g}" for value in numbers))]
    length, width = piece.length_mm, piece.width_mm
    if sketch.line is not None:
        try:
            return crack_outline(sketch.line, sketch.opening_mm, length, width), []
        except BadInput as refused:
            return None, list(refused.faults)
    if sketch.box is not None:
        ax, ay, bx, by = sketch.box
        (x0, x1), (y0, y1) = sorted((ax, bx)), sorted((ay, by))
        outline: Outline = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        return outline, list(outline_faults(outline, length, width, "box"))
    outline = tuple(sketch.polygon or ())
    return outline, list(outline_faults(outline, length, width, "polygon"))


def _flat(point: Point | float) -> tuple[float, ...]:
    return point if isinstance(point, tuple) else (point,)
