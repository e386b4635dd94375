"""Draws what was suggested beside what is known, to be looked at.

python -m tests.photos.contact_sheet FOLDER OUT.png [--mm ACROSS,ALONG] [--least CONFIDENCE]

FOLDER holds annotations.json and pictures at scale (as tests.photos.read_folder reads), or photographs of
faces with their labels beside them (as sample_images/). What is known is drawn green, what is suggested red
with its kind and confidence.
"""

import argparse
import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from stockyard.photos.decode import decode
from stockyard.photos.detect import DetectionSettings, detect, suggest
from stockyard.photos.scale import true_scale
from stockyard.photos.trust import TrustLimits
from stockyard.timber import Face
from tests.photos.read_folder import scale

TILE, LONG_TILE = (820, 330), (1640, 290)
KNOWN, SUGGESTED = (0, 150, 0), (220, 0, 0)


def at_scale(folder: Path, mm: tuple[float, float], settings: DetectionSettings) -> list[npt.NDArray[Any]]:
    """A tile for each picture of an annotations file."""
    tiles = []
    for image in json.loads((folder / "annotations.json").read_text("utf-8"))["images"]:
        pixels = decode((folder / image["file"]).read_bytes()).pixels.copy()
        found = detect(pixels, mm, "vertical", settings)
        bold = max(1, pixels.shape[1] // 400)
        for known in image["defects"]:
            left, top, right, bottom = (round(v) for v in known["box"])
            cv2.rectangle(pixels, (left, top), (right, bottom), KNOWN, bold)
            _say(pixels, known["class"], (left, top), KNOWN, bold)
        for one in found.suggestions:
            cv2.polylines(pixels, [np.round(one.outline_px).astype(int)], True, SUGGESTED, bold)
            left, bottom = round(one.box_px[0]), round(one.box_px[3]) + 14 * bold
            _say(pixels, f"{one.kind.value} {one.confidence:.2f}", (left, bottom), SUGGESTED, bold)
        tiles.append(_tile(pixels, Path(image["file"]).stem))
    return tiles


def photographed(folder: Path, settings: DetectionSettings) -> list[npt.NDArray[Any]]:
    """A tile for each labelled photograph, put to scale."""
    tiles = []
    for labels in sorted(folder.glob("*.json")):
        told = json.loads(labels.read_text("utf-8"))
        picture = decode(labels.with_suffix(".jpg").read_bytes())
        size = (float(told["length_mm"]), float(told["width_mm"]))
        face = true_scale(picture.pixels, *size, Face(told["face"]), limits=TrustLimits(finest_mm=4.0))
        pixels = face.pixels.copy()
        bold = max(1, pixels.shape[1] // 900)
        for outline, colour, words in [
            *((known["outline_mm"], KNOWN, known["kind"]) for known in told["defects"]),
            *((one.outline, SUGGESTED, f"{one.seen.kind.value} {one.seen.confidence:.2f}")
              for one in suggest(face, settings)),
        ]:  # fmt: skip
            points = np.array(outline) / face.mm_per_px
            points[:, 1] = pixels.shape[0] - points[:, 1]
            cv2.polylines(pixels, [np.round(points).astype(int)], True, colour, bold)
            below = 14 * bold if colour == SUGGESTED else 0
            place = (
                int(points[:, 0].min()),
                int(points[:, 1].max() if below else points[:, 1].min()) + below,
            )
            _say(pixels, words, place, colour, bold)
        tiles.append(_tile(pixels, f"{labels.stem}, by {face.way.value}", LONG_TILE))
    return tiles


def _say(
    pixels: npt.NDArray[Any], words: str, at: tuple[int, int], colour: tuple[int, ...], bold: int
) -> None:
    place = (at[0], int(np.clip(at[1], 12 * bold, pixels.shape[0] - 3)))
    cv2.putText(pixels, words, place, cv2.FONT_HERSHEY_SIMPLEX, 0.42 * bold, colour, max(1, bold))


def _tile(pixels: npt.NDArray[Any], name: str, size: tuple[int, int] = TILE) -> npt.NDArray[Any]:
    wide, high = size
    shrink = min((wide - 8) / pixels.shape[1], (high - 24) / pixels.shape[0])
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    tile = np.full((high, wide, 3), 245, np.uint8)
    tile[20 : 20 + small.shape[0], 4 : 4 + small.shape[1]] = small
    cv2.putText(tile, name, (4, 14), cv2.FONT_HERSHEY_SIMPLEX, 0.42, (40, 40, 40), 1)
    return tile


def main() -> None:
    """Draw the sheet."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--mm", type=scale, default=(0.07, 0.13))
    parser.add_argument("--least", type=float, default=DetectionSettings().least_confidence)
    asked = parser.parse_args()
    settings = DetectionSettings(least_confidence=asked.least)
    if (asked.folder / "annotations.json").exists():
        tiles = at_scale(asked.folder, asked.mm, settings)
    else:
        tiles = photographed(asked.folder, settings)
    across = 3 if tiles[0].shape[1] == TILE[0] else 1
    tiles += [np.full_like(tiles[0], 245)] * (-len(tiles) % across)
    rows = [np.hstack(tiles[k : k + across]) for k in range(0, len(tiles), across)]
    cv2.imwrite(str(asked.out), np.vstack(rows)[..., ::-1])


if __name__ == "__main__":
    main()
