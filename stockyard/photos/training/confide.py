"""How sure a suggestion may be: fitted on boards kept aside for it, and written beside the weights.

python -m stockyard.photos.training.confide MARKED READER.onnx OUT_FOLDER NAME [--lessons FOLDER]

The sum of a patch's measures that best tells a true suggestion from a false one (logistic regression), on the
"tune" boards of a marked folder and on rendered faces of seeds that training did not use. Writes
OUT_FOLDER/reader.onnx and reader.json.
"""

import argparse
import hashlib
import json
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from stockyard.photos.classes import CLASSES, TOLD_MM
from stockyard.photos.masks_to_defects import MEASURES, Patch, find_patches
from stockyard.photos.net import asked_of
from stockyard.photos.tiles import Likely, at_reading_scale, told_of
from stockyard.photos.training.drawn import draw_faces
from stockyard.photos.training.marked import Bytes, Marked, part_of, read_marked

RENDERED_SEEDS = range(900_000, 900_080)
_LEAST_AREA_MM2 = 1.2  # marks smaller than this are strays
_REAL = 3  # a real board counts for as many as this: rendered ones are told too surely
_NEAR = (0.1, 0.7)  # a suggestion's middle may lie so much beside a mark's box: of its size, or mm
Box = npt.NDArray[np.float64]
Ask = Callable[[Likely], Likely]


def main() -> None:
    """Read, fit, write."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for name in ("marked", "onnx", "out"):
        parser.add_argument(name, type=Path)
    parser.add_argument("name")
    parser.add_argument("--lessons", type=Path, help="a workshop's own marked faces, all used")
    asked = parser.parse_args()
    content = asked.onnx.read_bytes()
    ask = asked_of(asked.onnx, content)
    marked = read_marked(asked.marked)
    tune = [k for k, side in enumerate(part_of(marked)) if side == "tune"]
    drawn = draw_faces(RENDERED_SEEDS)
    faces = [(marked, tune, _REAL), (drawn, list(range(len(drawn.names))), 1)]
    if asked.lessons:
        own = read_marked(asked.lessons)
        faces.append((own, list(range(len(own.names))), _REAL))
    measures, true = [], []
    for some, chosen, times in faces:
        for k in chosen:
            patches, marks = found_and_marked(some, k, ask)
            measures += [patch.measures for patch in patches] * times
            true += [bool(hits(box_mm(patch), marks).any()) for patch in patches] * times
    sureness = fitted(np.array(measures, float), np.array(true, float))
    asked.out.mkdir(parents=True, exist_ok=True)
    (asked.out / "reader.onnx").write_bytes(content)
    digest = hashlib.sha256(content).hexdigest()
    told = {
        "name": f"{asked.name} {digest[:8]}",
        "sha256": digest,
        "classes": CLASSES,
        "measures": MEASURES,
        "sureness": [round(float(one), 5) for one in sureness],
    }
    (asked.out / "reader.json").write_text(json.dumps(told, indent=1) + "\n", "utf-8")


def found_and_marked(some: Marked, k: int, ask: Ask) -> tuple[list[Patch], Box]:
    """The patches of a face at every sureness, and the boxes of what is marked on it [mm]."""
    told = told_of(at_reading_scale(some.pictures[k], some.mm), ask)
    labels = some.labels[k]
    board = (labels != CLASSES.index("ground")).astype(np.uint8)
    inside = cv2.resize(board, (told.shape[2], told.shape[1]), interpolation=cv2.INTER_NEAREST)
    return find_patches(told, inside > 0, 1.0), marked_boxes(labels, some.mm)


def marked_boxes(labels: Bytes, mm: tuple[float, float]) -> Box:
    """(n, 4) left, top, right, bottom of every connected mark of a flaw [mm]."""
    boxes = []
    for kind in range(2, len(CLASSES)):
        _, _, stats, _ = cv2.connectedComponentsWithStats((labels == kind).astype(np.uint8), connectivity=8)
        for left, top, wide, tall, area in stats[1:]:
            if area * mm[0] * mm[1] >= _LEAST_AREA_MM2:
                boxes.append((left * mm[1], top * mm[0], (left + wide) * mm[1], (top + tall) * mm[0]))
    return np.array(boxes, float).reshape(-1, 4)


def box_mm(patch: Patch) -> Box:
    """Left, top, right, bottom of a patch [mm]."""
    return np.array([
        patch.columns.min() * TOLD_MM[1], patch.rows.min() * TOLD_MM[0],
        (patch.columns.max() + 1) * TOLD_MM[1], (patch.rows.max() + 1) * TOLD_MM[0],
    ])  # fmt: skip


def hits(box: Box, marks: Box) -> npt.NDArray[np.bool_]:
    """Which marks a box tells of: its middle lies in theirs, or the two share three tenths of both."""
    middle = (box[:2] + box[2:]) / 2
    size = marks[:, 2:] - marks[:, :2]
    beside = np.maximum(_NEAR[0] * size, _NEAR[1])
    inside = ((middle >= marks[:, :2] - beside) & (middle <= marks[:, 2:] + beside)).all(axis=1)
    shared = np.clip(np.minimum(box[2:], marks[:, 2:]) - np.maximum(box[:2], marks[:, :2]), 0, None).prod(
        axis=1
    )
    both = (box[2:] - box[:2]).prod() + size.prod(axis=1) - shared
    fits = (box[2:] - box[:2]).prod() <= 9 * size.prod(axis=1)
    return np.asarray((inside & fits) | (shared >= 0.3 * both))


def fitted(measures: Box, true: Box, hold_back: float = 1.0) -> Box:
    """The constant and the weight of each measure; hold_back keeps weights small where little is known."""
    usual, spread = measures.mean(axis=0), measures.std(axis=0) + 1e-6
    values = np.column_stack([np.ones(len(measures)), (measures - usual) / spread])
    sums = np.zeros(values.shape[1])
    keep = np.diag([0.0] + [hold_back] * measures.shape[1])
    for _ in range(50):
        likely = 1 / (1 + np.exp(-values @ sums))
        bend = (values * (likely * (1 - likely))[:, None]).T @ values + keep + 1e-9 * np.eye(len(sums))
        sums += np.linalg.solve(bend, values.T @ (true - likely) - keep @ sums)
    weights = sums[1:] / spread
    return np.concatenate([[sums[0] - float(weights @ usual)], weights])


if __name__ == "__main__":
    main()
