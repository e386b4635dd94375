"""Reads every picture an annotations file names and writes what was suggested, for its scorer.

python -m tests.photos.read_folder FOLDER OUT.json [--mm ACROSS,ALONG] [--low-mm ACROSS,ALONG]

FOLDER holds annotations.json ({"images": [{"file", "source", ...}]}) and the pictures, grain upright.
--low-mm is the scale of pictures whose source is named as made smaller ("...-low").
"""

import argparse
import json
from pathlib import Path

from stockyard.photos.decode import decode
from stockyard.photos.detect import DetectionSettings, detect
from stockyard.photos.files import read_bytes

CLASSES = {
    "sound_knot": "knot_sound",
    "unsound_knot": "knot_unsound",
    "borer_hole": "knot_unsound",
    "gum_vein": "resin",
    "gum_pocket": "resin",
    "bark_inclusion": "bark",
    "wane": "bark",
    "shake": "crack",
    "decay": "other",
    "sapwood": "other",
}


def scale(text: str) -> tuple[float, float]:
    across, along = (float(part) for part in text.split(","))
    return across, along


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--mm", type=scale, default=(0.07, 0.13))
    parser.add_argument("--low-mm", type=scale, default=None)
    asked = parser.parse_args()
    settings = DetectionSettings(least_confidence=0.05)
    told = {}
    for image in json.loads((asked.folder / "annotations.json").read_text("utf-8"))["images"]:
        pixels = decode(read_bytes(asked.folder / image["file"])).pixels
        low = asked.low_mm is not None and str(image.get("source", "")).endswith("-low")
        found = detect(pixels, asked.low_mm if low else asked.mm, "vertical", settings)
        told[image["file"]] = [
            {
                "class": CLASSES.get(str(one.kind), str(one.kind)),
                "box": list(one.box_px),
                "score": one.confidence,
            }
            for one in found.suggestions
        ]
    asked.out.write_text(json.dumps(told) + "\n", "utf-8")


if __name__ == "__main__":
    main()
