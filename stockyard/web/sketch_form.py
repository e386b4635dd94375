"""A defect as a form holds it: its shape as points in millimetres, so that it needs no drawing to be told."""

from collections.abc import Mapping
from typing import Any

from stockyard.errors import Fault
from stockyard.services.map_defects import Sketch
from stockyard.timber.defect import DefectKind, Face, Point
from stockyard.timber.mapped_defect import MappedDefect
from stockyard.web.forms import Filled

SHAPES = ("outline", "box", "line")
FIELDS = ("which", "kind", "face", "shape", "points", "opening", "depth", "note", "because")


def sketch_in(form: Filled, *, new: bool) -> Sketch:
    """The defect that a form draws. new: it has to say everything. Raises BadInput."""
    kind = form.choice("kind", [kind.value for kind in DefectKind], required=new)
    face = form.choice("face", [face.value for face in Face], required=new)
    shape = form.choice("shape", SHAPES) or "outline"
    points = _points(form, required=new)
    opening, depth = form.number("opening"), form.number("depth")
    box = None
    if points and shape == "box":
        xs, ys = [x for x, _ in points], [y for _, y in points]
        box = (min(xs), min(ys), max(xs), max(ys))
    form.check("The map was not changed.")
    return Sketch(
        kind=DefectKind(kind) if kind else None,
        face=Face(face) if face else None,
        box=box,
        polygon=points if points and shape == "outline" else None,
        line=points if points and shape == "line" else None,
        opening_mm=opening,
        depth_mm=depth,
        note=form.text("note") or None,
    )


def typed_of(form: Filled) -> dict[str, str]:
    """A form's fields as they were typed, to be shown again."""
    return {name: form.text(name) for name in FIELDS}


def typed_as(mapped: MappedDefect) -> Mapping[str, Any]:
    """A defect on the map as a form shows it."""
    one = mapped.defect
    return {
        "which": one.id.rpartition("/")[2],
        "kind": one.kind.value,
        "face": one.face.value,
        "shape": "outline",
        "points": " ".join(f"{x:g},{y:g}" for x, y in one.outline),
        "opening": "" if one.opening_mm is None else f"{one.opening_mm:g}",
        "depth": "" if one.depth_mm is None else f"{one.depth_mm:g}",
        "note": mapped.note,
        "because": "",
    }


def _points(form: Filled, *, required: bool) -> tuple[Point, ...] | None:
    text = form.text("points", required=required)
    if not text:
        return None
    points = []
    for pair in text.split():
        x, comma, y = pair.partition(",")
        try:
            points.append((float(x), float(y)))
        except ValueError:
            form.faults.append(
                Fault("points", "pairs such as 120,30 480,34 in mm", (comma and pair) or text[:80])
            )
            return None
    return tuple(points)
