"""Folders of real boards whose points are marked, parted so that no board is on two sides.

A folder holds images/, masks/ (the same name, .png, one label a pixel) and index.csv with a column `file`.
With no faces.json in it the labels are those of the published set named in the model card, upright at
SET_MM; a faces.json ({"mm_per_px": [across, along], "grain", "labels": {"1": class, ...}}) says otherwise,
as an export of lessons does.
"""

import csv
import json
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from stockyard.photos.classes import CLASSES
from stockyard.photos.decode import decode
from stockyard.photos.files import read_bytes
from stockyard.photos.ground import board_mask

Bytes = npt.NDArray[np.uint8]

SET_MM = (0.2288, 0.4243)
_SET_LABELS = {
    0: "clear", 1: "sound_knot", 2: "unsound_knot", 3: "unsound_knot", 4: "crack", 5: "gum", 6: "pith",
    7: "clear", 8: "unsound_knot", 9: "stain",
}  # fmt: skip
# Frames of the open judging pictures, and one that shows the same board: never trained on.
_HELD_BACK = {1031, 14437, 15868, 5394, 5285, 5505, 1973}
_NEAR = 2  # frames numbered this close are taken for one board
_ALIKE = 0.66  # so are frames whose grain agrees this well


@dataclass(frozen=True, slots=True)
class Marked:
    """pictures: (n, rows across, columns along, 3) RGB. labels: (n, rows, columns). mm: of a pixel."""

    names: tuple[str, ...]
    pictures: Bytes
    labels: Bytes
    mm: tuple[float, float]


def read_marked(folder: Path) -> Marked:
    """Every marked face of a folder, its grain along the columns, brought to one size."""
    told = folder / "faces.json"
    kept = json.loads(told.read_text("utf-8")) if told.exists() else {}
    mm = tuple(kept.get("mm_per_px", SET_MM))
    lying = kept.get("grain", "vertical") == "horizontal"
    names_of = {int(k): v for k, v in kept["labels"].items()} if kept else _SET_LABELS
    table = np.full(256, 255, np.uint8)
    for label, name in names_of.items():
        table[label] = CLASSES.index(name) if name in CLASSES else 255
    with (folder / "index.csv").open(newline="", encoding="utf-8") as file:
        names = [row["file"] for row in csv.DictReader(file)]
    if not kept:
        names = [name for name in names if _number(name) not in _HELD_BACK]
    pictures, labels = [], []
    for name in names:
        picture = decode(read_bytes(folder / "images" / name), name).pixels
        with Image.open(folder / "masks" / f"{Path(name).stem}.png") as marks:
            mask = table[np.asarray(marks)]
        mask[(board_mask(picture) == 0) & (mask == CLASSES.index("clear"))] = CLASSES.index("ground")
        if not lying:
            picture, mask = picture.transpose(1, 0, 2), mask.T
        pictures.append(np.ascontiguousarray(picture))
        labels.append(np.ascontiguousarray(mask))
    tall, wide = max(p.shape[0] for p in pictures), max(p.shape[1] for p in pictures)
    return Marked(
        tuple(names),
        np.stack([_padded(p, tall, wide, 0) for p in pictures]),
        np.stack([_padded(m, tall, wide, 255) for m in labels]),
        (float(mm[0]), float(mm[1])),
    )


def part_of(marked: Marked, tune: float = 0.1, hold: float = 0.14) -> list[str]:
    """For each face "train", "tune" or "hold"; frames of one board are never on two sides."""
    group = _boards(marked)
    order = np.random.default_rng(20).permutation(np.unique(group))
    share = np.cumsum([np.sum(group == one) for one in order]) / len(group)
    side = {
        one: "hold" if at <= hold else "tune" if at <= hold + tune else "train"
        for one, at in zip(order, share, strict=True)
    }
    return [side[one] for one in group]


def _padded(array: Bytes, tall: int, wide: int, value: int) -> Bytes:
    pad = [(0, tall - array.shape[0]), (0, wide - array.shape[1])] + [(0, 0)] * (array.ndim - 2)
    return np.pad(array, pad, constant_values=value)


def _number(name: str) -> int:
    digits = "".join(c for c in Path(name).stem if c.isdigit())
    return int(digits) if digits else -1


def _boards(marked: Marked) -> npt.NDArray[np.int64]:
    """A number for each board: frames numbered beside one another, or whose grain agrees, share it."""
    count = len(marked.names)
    parent = np.arange(count)

    def root(k: int) -> int:
        while parent[k] != k:
            k = parent[k]
        return k

    numbers = [_number(name) for name in marked.names]
    order = np.argsort(numbers)
    for one, other in pairwise(order):
        if 0 <= numbers[other] - numbers[one] <= _NEAR:
            parent[root(int(other))] = root(int(one))
    grey = [cv2.resize(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY), (56, 153), interpolation=cv2.INTER_AREA)
            .astype(np.float32) for p in marked.pictures]  # fmt: skip
    grain = np.stack([(g - cv2.blur(g, (13, 25)))[15:138] for g in grey])
    for first in (0, 14, 28):
        for second in (0, 14, 28):
            if min(first, second) and first != second:
                continue
            a, b = (grain[:, :, s : s + 28].reshape(count, -1) for s in (first, second))
            a = a / (np.linalg.norm(a, axis=1, keepdims=True) + 1e-6)
            b = b / (np.linalg.norm(b, axis=1, keepdims=True) + 1e-6)
            for one, other in np.argwhere(a @ b.T > _ALIKE):
                if one != other:
                    parent[root(int(other))] = root(int(one))
    return np.array([root(k) for k in range(count)])
