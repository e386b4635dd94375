"""Makes the pictures and labels of sample_images/: python -m tests.photos.render.samples FOLDER."""

import json
import sys
from pathlib import Path

import numpy as np

from tests.photos.render.board import draw_board
from tests.photos.render.photograph import Photograph, Shot, photograph

# name, seed, species, length, width, flaws, marks, faces and how each is photographed
SET = (
    ("SG-0001", 11, "spotted gum", 1800, 180, ("crack", "gum_vein", "sound_knot", "checks"), ("saw",),
     {"A": Shot(cards=(0, 1, 2, 3), turn=3, bench="mat"),
      "B": Shot(cards=(0, 1, 2, 3), turn=-4, bench="mat")}),
    ("JA-0002", 12, "jarrah", 1500, 200, ("gum_vein", "gum_pocket", "split", "bark"), ("scratches",),
     {"A": Shot(cards=(0, 1, 2, 3), turn=-6, bench="concrete", shadow=0.3)}),
    ("TO-0003", 13, "tasmanian oak", 1200, 150, ("crack", "holes", "unsound_knot"), ("pencil", "saw"),
     {"A": Shot(turn=8, bench="slate")}),
    ("WO-0004", 14, "white oak", 1600, 210, ("sound_knot", "crack", "checks", "pith"), ("dust",),
     {"A": Shot(cards=(0, 1, 2, 3), turn=92, bench="mat", cast=(1.06, 1.0, 0.9))}),
    ("BW-0005", 15, "black walnut", 1400, 190, ("crack", "sound_knot", "bark", "stain"), (),
     {"A": Shot(cards=(0, 1, 2, 3), turn=2, bench="concrete"), "B": Shot(turn=-3, bench="concrete")}),
    ("RP-0006", 16, "radiata pine", 1300, 140, ("unsound_knot", "sound_knot", "gum_pocket", "crack", "wane"),
     ("step",), {"A": Shot(turn=-2, bench="slate")}),
    ("RW-0007", 17, "rosewood", 1000, 130, ("crack",), ("scratches",), {"A": Shot(turn=5, bench="ply")}),
    ("SG-0008", 18, "spotted gum", 1100, 160, (), ("saw", "dust"), {"A": Shot(turn=0, bench="mat")}),
)  # fmt: skip

# The demo yard's own boards, photographed as they lie there: number, seed, species, size, flaws, and for each
# face its pictures; a long face's each show a part of it.
_PARTS = tuple(
    Shot(fill=2.4, tilt_along=2, tilt_across=4, turn=turn, cards=(0, 1, *range(10, 17), 2, 3), look_at=at)
    for at, turn in ((0.17, 2.0), (0.5001, -1.0), (0.83, 1.0))
)
DEMO = (
    ("SG-0003", 31, "spotted gum", 2700, 190, 32, ("crack", "split", "sound_knot", "bark"), ("saw",),
     {"A": (Shot(cards=(0, 1, 2, 3), turn=2, bench="mat"),),
      "B": (Shot(cards=(0, 1, 2, 3), turn=-3, bench="mat"),)}),
    ("JA-0008", 33, "jarrah", 3000, 200, 38, ("gum_vein", "crack", "unsound_knot"), (), {"A": _PARTS}),
    ("SG-0011", 34, "spotted gum", 3000, 155, 32, ("checks",), ("dust",),
     {"A": (Shot(turn=4, bench="concrete"),)}),
)  # fmt: skip


def labels(photo: Photograph, name: str, face: str) -> dict[str, object]:
    """What is on a picture, in plain words and numbers."""
    board = photo.board
    return {
        "format": "board-face-labels/1",
        "rendered": True,
        "board": name,
        "species": board.species,
        "face": face,
        "length_mm": board.length_mm,
        "width_mm": board.width_mm,
        "thickness_mm": board.thickness_mm,
        "corners_px": np.round(photo.corners_px, 2).tolist(),
        "cards": {
            str(card): np.round(corners, 2).tolist() for card, corners in photo.card_corners_mm.items()
        },
        "defects": [
            {
                "kind": truth.kind,
                "outline_mm": np.round(truth.outline_mm, 2).tolist(),
                "outline_px": np.round(photo.to_px(truth.outline_mm), 1).tolist(),
                "opening_mm": None if truth.opening_mm is None else round(float(truth.opening_mm), 2),
                "length_mm": None if truth.length_mm is None else round(float(truth.length_mm), 1),
                "through": truth.through,
            }
            for truth in board.truths[face]
        ],
    }


def main(folder: Path) -> None:
    """Write every picture and its labels."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, seed, species, length, width, wanted, marks, shots in SET:
        pictures = {face: (shot,) for face, shot in shots.items()}
        _write(folder, name, seed, species, (length, width, 30), wanted, marks, pictures)
    for name, seed, species, *size, wanted, marks, pictures in DEMO:
        _write(folder / "demo", name, seed, species, size, wanted, marks, pictures)


def _write(folder: Path, name, seed, species, size, wanted, marks, pictures) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    board = draw_board(seed, species, *size, mm_per_px=0.3, wanted=wanted, marks=marks, faces=tuple(pictures))
    for face, shots in pictures.items():
        for place, shot in enumerate(shots, 1):
            taken = Shot(**{**vars(shot), "size": (2600, 1950), "quality": 86, "noise": 0.004})
            photo = photograph(board, face, taken, seed=seed)
            stem = folder / (f"{name}-{face}" if len(shots) == 1 else f"{name}-{face}{place}")
            stem.with_suffix(".jpg").write_bytes(photo.content)
            kept = json.dumps(labels(photo, name, face), separators=(",", ":"))
            stem.with_suffix(".json").write_text(kept + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
