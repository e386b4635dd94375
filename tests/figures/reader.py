"""How the readers do: found, false alarms, sureness and speed, on boards that training never saw.

python -m tests.figures.reader [--marked FOLDER] [--frames FOLDER] [--models NAME=FILE ...] [--rendered N]

--marked: the real boards of training; only those it held out are read. --frames: pictures with an
annotations.json, read at 0.07 x 0.13 mm a pixel. --models: others to set beside the one that ships, as
trained on a part of the boards; --readers: which of
learned, classical, both. Rendered faces are of seeds from 910000, which nothing was fitted to. Tables
are printed, and their main figures appended to figures.csv. A flaw counts as found when a suggestion's middle
lies in its box, or the two share three tenths of their union.
"""

import argparse
import json
import resource
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter

import cv2
import numpy as np

from stockyard.photos import net
from stockyard.photos.classes import CLASSES
from stockyard.photos.decode import decode
from stockyard.photos.detect import DetectionSettings, Reader, detect
from stockyard.photos.files import read_bytes
from stockyard.photos.training.confide import hits
from stockyard.photos.training.drawn import draw_faces
from stockyard.photos.training.marked import Marked, part_of, read_marked
from tests.figures.record import record
from tests.photos.render.board import draw_board

GROUPS = {
    "crack": ("crack", "check", "split", "shake"),
    "knot": (
        "sound_knot",
        "unsound_knot",
        "borer_hole",
        "knot_sound",
        "knot_unsound",
        "knot_crack",
        "missing_knot",
    ),
    "gum or bark": ("gum", "gum_pocket", "gum_vein", "resin", "bark", "bark_inclusion", "wane"),
}
READERS: tuple[Reader, ...] = ("learned", "classical", "both")


@dataclass
class Face:
    """A picture with the boxes (left, top, right, bottom) of its flaws, by group ("" for others)."""

    pixels: np.ndarray
    mm: tuple[float, float]
    grain: str
    flaws: list[tuple[str, np.ndarray]]


def group_of(kind: str) -> str:
    return next((group for group, kinds in GROUPS.items() if kind in kinds), "")


def from_marked(marked: Marked, chosen: list[int]) -> Iterator[Face]:
    for k in chosen:
        flaws = []
        for number, name in enumerate(CLASSES[2:], 2):
            _, _, stats, _ = cv2.connectedComponentsWithStats((marked.labels[k] == number).astype(np.uint8))
            for left, top, wide, tall, area in stats[1:]:
                if area >= 12:
                    flaws.append((group_of(name), np.array([left, top, left + wide, top + tall], float)))
        yield Face(marked.pictures[k], marked.mm, "horizontal", flaws)


def from_frames(folder: Path) -> Iterator[Face]:
    for image in json.loads((folder / "annotations.json").read_text("utf-8"))["images"]:
        flaws = [(group_of(one["class"]), np.array(one["box"], float)) for one in image["defects"]]
        yield Face(decode(read_bytes(folder / image["file"])).pixels, (0.07, 0.13), "vertical", flaws)


def read_all(faces: list[Face], reader: Reader) -> dict[str, float]:
    """Shares found and false alarms, by group, with how far sureness is off."""
    seen: Counter[str] = Counter()
    told: list[tuple[float, bool]] = []
    clean = [face for face in faces if not face.flaws]
    for face in faces:
        settings = DetectionSettings(reader=reader, least_confidence=0.05)
        every = detect(face.pixels, face.mm, face.grain, settings).suggestions
        boxes = np.array([box for _, box in face.flaws]).reshape(-1, 4)
        groups = [group for group, _ in face.flaws]
        met = [hits(np.array(one.box_px), boxes) for one in every]
        told += [(one.confidence, bool(hit.any())) for one, hit in zip(every, met, strict=True)]
        shown = [k for k, one in enumerate(every) if one.confidence >= DetectionSettings().least(reader)]
        alarms = [k for k in shown if not met[k].any()]
        seen["alarms"] += len(alarms)
        seen["clean alarms"] += len(alarms) if not face.flaws else 0
        for k in alarms:
            seen[f"alarms {group_of(str(every[k].kind))}"] += 1
        for number, group in enumerate(groups):
            finders = [k for k in shown if met[k][number]]
            named = any(group_of(str(every[k].kind)) == group for k in finders)
            for name in ("any", group):
                seen[f"of {name}"] += 1
                seen[f"found {name}"] += bool(finders) if name == "any" else named
    out = {f"found {name}": seen[f"found {name}"] / max(1, seen[f"of {name}"]) for name in ("any", *GROUPS)}
    out |= {f"alarms {name}": seen[f"alarms {name}"] / len(faces) for name in GROUPS}
    out |= {
        "alarms any": seen["alarms"] / len(faces),
        "alarms clean": seen["clean alarms"] / max(1, len(clean)),
    }
    return out | {"sureness off": _off_by(told)}


def _off_by(told: list[tuple[float, bool]]) -> float:
    """Expected calibration error over ten steps."""
    sure, right = np.array([one for one, _ in told]), np.array([two for _, two in told], float)
    step = np.minimum((sure * 10).astype(int), 9)
    return float(
        sum(abs(sure[step == k].sum() - right[step == k].sum()) for k in range(10)) / max(1, len(told))
    )


def speed() -> None:
    """A 2.4 m x 200 mm face at 3 px a mm, against OpenCV's 21 x 21 median filter of it, on two threads."""
    cv2.setNumThreads(2)
    board = draw_board(911, "spotted gum", 2400, 200, mm_per_px=0.5, wanted=("crack", "sound_knot", "bark"))
    face = cv2.resize(board.faces["A"], (7200, 600), interpolation=cv2.INTER_CUBIC)
    settings, all_board = DetectionSettings(), np.full(face.shape[:2], 255, np.uint8)
    detect(face, (1 / 3, 1 / 3), "horizontal", settings, all_board)
    ratios = []
    for _ in range(5):
        began = perf_counter()
        detect(face, (1 / 3, 1 / 3), "horizontal", settings, all_board)
        ours = perf_counter() - began
        began = perf_counter()
        cv2.medianBlur(face, 21)
        ratios.append(ours / (perf_counter() - began))
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    record(
        "learned reader",
        "2.4 m x 200 mm at 3 px/mm",
        median(ratios),
        "x",
        baseline="cv2.medianBlur 21 x 21",
        seeds="911",
        note=f"aim 15 at most; peak memory of the process {most:.0f} MB",
    )


def main() -> None:
    """Measure, print and record."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--marked", type=Path)
    parser.add_argument("--frames", type=Path)
    parser.add_argument("--models", nargs="*", default=[])
    parser.add_argument("--rendered", type=int, default=60)
    parser.add_argument("--readers", nargs="*", default=READERS)
    asked = parser.parse_args()
    if asked.readers:
        speed()
    sets: dict[str, list[Face]] = {}
    if asked.marked:
        marked = read_marked(asked.marked)
        held = [k for k, side in enumerate(part_of(marked)) if side == "hold"]
        sets["held-out real boards"] = list(from_marked(marked, held))
    if asked.frames:
        sets["open frames"] = list(from_frames(asked.frames))
    if asked.rendered:
        drawn = draw_faces(range(910_000, 910_000 + asked.rendered))
        sets["rendered boards"] = list(from_marked(drawn, list(range(asked.rendered))))
    for name, faces in sets.items():
        for reader in asked.readers:
            _tell(name, reader, read_all(faces, reader))
        for one in asked.models:
            label, _, file = one.partition("=")
            with _instead(Path(file)):
                _tell(name, label, read_all(faces, "learned"))


class _instead:  # noqa: N801
    """Another model's weights in place of those that ship, judged as sure as they are."""

    def __init__(self, file: Path) -> None:
        self.ask = net.asked_of(file, file.read_bytes())
        self.usual = net._checked

    def __enter__(self) -> None:
        ships = net.learned_reader()
        net._checked = lambda *_: net.FaceNet("another", self.ask, ships.sureness)

    def __exit__(self, *_: object) -> None:
        net._checked = self.usual


def _tell(name: str, reader: str, seen: dict[str, float]) -> None:
    print(f"{name}, {reader}: " + ", ".join(f"{what} {value:.3f}" for what, value in seen.items()))
    for what in ("found any", "alarms any", "found crack", "found knot", "found gum or bark", "alarms clean",
                 "sureness off"):  # fmt: skip
        record(f"{reader} reader", f"{name}: {what}", seen[what], "")


if __name__ == "__main__":
    main()
