"""Train the reader of board faces from marked folders and rendered boards.

python -m stockyard.photos.training MARKED... --out FOLDER [--parts both|real|rendered] [--steps N]

Run it in a clone (the rendered boards are drawn by the renderer kept with the tests) with the extra `train`.
Writes FOLDER/reader.pt and FOLDER/reader.onnx; `python -m stockyard.photos.training.confide` then fits how
sure a suggestion may be and writes what goes into stockyard/photos/weights/.
"""

import argparse
import os
import sys
import time
from pathlib import Path

import torch

from stockyard.photos.training.distort import Shelf
from stockyard.photos.training.drawn import draw_faces
from stockyard.photos.training.dressed import dress_faces
from stockyard.photos.training.fit import Course, fit
from stockyard.photos.training.marked import part_of, read_marked
from stockyard.photos.training.model import proved, to_onnx

_SHARES = {"real": 0.42, "dressed": 0.14, "rendered": 0.44}
_OF_PARTS = {"both": ("real", "dressed", "rendered"), "real": ("real",), "rendered": ("rendered",)}


def say(line: str) -> None:
    """One line of progress."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Read, draw, train, write."""
    asked = _asked()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    began = time.perf_counter()
    wanted = {name for parts in asked.parts.split(",") for name in _OF_PARTS[parts]}
    faces: dict[str, list[Shelf]] = {name: [] for name in _SHARES}
    for folder in asked.marked if wanted - {"rendered"} else []:
        marked = read_marked(folder)
        own = [k for k, side in enumerate(part_of(marked)) if side == "train"][: asked.most]
        faces["real"].append(Shelf.of(marked, own, device))
        if "dressed" in wanted:
            faces["dressed"].append(
                Shelf.of(dress_faces(marked, own, asked.workers), list(range(len(own))), device)
            )
    if "rendered" in wanted:
        drawn = draw_faces(range(asked.faces), asked.workers)
        faces["rendered"].append(Shelf.of(drawn, list(range(asked.faces)), device))
    say(f"{time.perf_counter() - began:.0f} s to read, dress and draw on {device}")
    for parts in asked.parts.split(","):
        shelves = {}
        # Every kind of faces has its share, folders within a kind by how many they hold.
        for name in _OF_PARTS[parts]:
            whole = sum(len(shelf.pictures) for shelf in faces[name])
            for k, shelf in enumerate(faces[name]):
                shelves[f"{name}{k}"] = (shelf, _SHARES[name] * len(shelf.pictures) / whole)
        steps = asked.steps if parts == "both" or not asked.short else asked.short
        course = Course(steps, asked.batch, asked.rate, asked.seed)
        start = torch.load(asked.start, map_location=device) if asked.start else None
        reader = fit(shelves, course, device, say, start)
        asked.out.mkdir(parents=True, exist_ok=True)
        stem = "reader" if parts == "both" else f"reader-{parts}"
        kept = reader.cpu().state_dict()
        torch.save(
            {k: v.half() if v.is_floating_point() else v for k, v in kept.items()}, asked.out / f"{stem}.pt"
        )
        to_onnx(reader, asked.out / f"{stem}.onnx")
        say(f"{stem}: OpenCV answers as torch does, to {proved(reader, asked.out / f'{stem}.onnx'):.1g}")
        say(f"{stem}: {steps} steps, {time.perf_counter() - began:.0f} s in all")


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("marked", nargs="+", type=Path)
    parser.add_argument("--out", required=True, type=Path)
    parser.add_argument(
        "--parts", default="both", help="both, real, rendered, or several with commas between"
    )
    parser.add_argument("--steps", type=int, default=9000)
    parser.add_argument("--short", type=int, default=0, help="steps of real and rendered alone; 0: as many")
    parser.add_argument("--start", type=Path, help="a reader.pt to go on from")
    parser.add_argument("--rate", type=float, default=2.5e-3, help="the highest learning rate")
    parser.add_argument("--batch", type=int, default=32)
    parser.add_argument("--faces", type=int, default=3000, help="how many boards are rendered")
    parser.add_argument("--most", type=int, default=None, help="at most so many of each folder, for a trial")
    parser.add_argument("--workers", type=int, default=max(1, (os.cpu_count() or 1) - 1))
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


if __name__ == "__main__":
    main()
