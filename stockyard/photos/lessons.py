"""Faces that a person has decided on, as pictures and marks that a reader can be trained and measured by.

A folder of lessons holds images/ and masks/ (a label a pixel, by CLASSES; 255 where nobody knows), index.csv
and faces.json, grain along the columns at READ_MM. Long faces are cut to pieces.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PIL import Image

from stockyard.photos.classes import CLASSES, READ_MM
from stockyard.photos.kept_face import AtScale
from stockyard.photos.opencv import cv2
from stockyard.photos.tiles import at_reading_scale
from stockyard.timber import DefectKind, Outline

Bytes = npt.NDArray[np.uint8]

_UNKNOWN = 255
_PIECE = 600  # columns of a piece: 300 mm of board
_HAIR_MM = 1.2  # along the sides of a face, where bench and shadow may show
_CLASS_OF = {
    DefectKind.SOUND_KNOT: "sound_knot", DefectKind.UNSOUND_KNOT: "unsound_knot",
    DefectKind.BORER_HOLE: "unsound_knot", DefectKind.CRACK: "crack", DefectKind.CHECK: "crack",
    DefectKind.SPLIT: "crack", DefectKind.SHAKE: "crack", DefectKind.GUM_POCKET: "gum",
    DefectKind.GUM_VEIN: "gum", DefectKind.BARK_INCLUSION: "bark", DefectKind.PITH: "pith",
    DefectKind.STAIN: "stain", DefectKind.WANE: "wane",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Lesson:
    """A face with the flaws that a person says are on it: (kind, outline) in the board's frame [mm]."""

    name: str
    face: AtScale
    flaws: tuple[tuple[DefectKind, Outline], ...]


def lesson_files(lessons: Iterable[Lesson]) -> Iterator[tuple[str, bytes]]:
    """Every file of a folder of lessons, (path in it, content), the index last."""
    names = []
    for lesson in lessons:
        picture = at_reading_scale(lesson.face.pixels, (lesson.face.mm_per_px, lesson.face.mm_per_px))
        marks = _marks(lesson, picture.shape[0], picture.shape[1])
        for number, start in enumerate(range(0, picture.shape[1], _PIECE), 1):
            part = slice(start, start + _PIECE)
            name = f"{lesson.name}-{number}"
            names.append(f"{name}.jpg")
            yield f"images/{name}.jpg", _file(picture[:, part], "JPEG")
            yield f"masks/{name}.png", _file(marks[:, part], "PNG")
    rows = io.StringIO()
    writer = csv.writer(rows, lineterminator="\n")
    writer.writerows([["file"], *([name] for name in names)])
    labels = {str(number): name for number, name in enumerate(CLASSES)}
    told = {"mm_per_px": READ_MM, "grain": "horizontal", "labels": labels}
    yield "faces.json", (json.dumps(told, indent=1) + "\n").encode()
    yield "index.csv", rows.getvalue().encode()


def _marks(lesson: Lesson, rows: int, columns: int) -> Bytes:
    marks = np.full((rows, columns), CLASSES.index("clear"), np.uint8)
    sides = max(1, round(_HAIR_MM / READ_MM[0])), max(1, round(_HAIR_MM / READ_MM[1]))
    # Kinds that the reader does not tell apart are neither flaw nor clear wood to it.
    for kind, outline in sorted(lesson.flaws, key=lambda flaw: _CLASS_OF.get(flaw[0]) == "crack"):
        name = _CLASS_OF.get(kind)
        _fill(marks, outline, lesson.face.width_mm, _UNKNOWN if name is None else CLASSES.index(name))
    for outline in lesson.face.covered:
        _fill(marks, outline, lesson.face.width_mm, _UNKNOWN)
    marks[: sides[0]] = marks[-sides[0] :] = _UNKNOWN
    marks[:, : sides[1]] = marks[:, -sides[1] :] = _UNKNOWN
    return marks


def _fill(marks: Bytes, outline: Sequence[tuple[float, float]], width_mm: float, label: int) -> None:
    points = np.array([(x / READ_MM[1], (width_mm - y) / READ_MM[0]) for x, y in outline])
    cv2.fillPoly(marks, [np.round((points - 0.5) * 16).astype(np.int32)], label, shift=4)


def _file(pixels: Bytes, kind: str) -> bytes:
    kept = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(pixels)).save(kept, kind, quality=95)
    return kept.getvalue()
