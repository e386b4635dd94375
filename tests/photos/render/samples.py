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
        board = draw_board(
            seed, species, length, width, mm_per_px=0.3, wanted=wanted, marks=marks, faces=tuple(shots)
        )
        for face, shot in shots.items():
            size = Shot(**{**vars(shot), "size": (2600, 1950), "quality": 86, "noise": 0.004})
            photo = photograph(board, face, size, seed=seed)
            stem = folder / f"{name}-{face}"
            stem.with_suffix(".jpg").write_bytes(photo.content)
            kept = json.dumps(labels(photo, name, face), separators=(",", ":"))
            stem.with_suffix(".json").write_text(kept + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
