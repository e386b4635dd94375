"""The pictures in sample_images/ lie where their labels say, and what they show is found."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from stockyard.photos.decode import decode
from stockyard.photos.detect import DetectionSettings, suggest
from stockyard.photos.scale import Way, true_scale
from stockyard.photos.trust import TrustLimits
from stockyard.timber import Face

FOLDER = Path(__file__).parent.parent.parent / "sample_images"
LABELS = sorted(FOLDER.glob("*.json"))


@pytest.mark.parametrize("labels", LABELS, ids=lambda path: path.stem)
def test_a_samples_corners_and_defects_are_where_its_labels_say(labels: Path) -> None:
    told: dict[str, Any] = json.loads(labels.read_text("utf-8"))
    length, width = float(told["length_mm"]), float(told["width_mm"])
    pixels = decode(labels.with_suffix(".jpg").read_bytes()).pixels
    face = true_scale(pixels, length, width, Face(told["face"]), limits=TrustLimits(finest_mm=4.0))
    wanted = np.array([(0, 0), (length, 0), (length, width), (0, width)])
    off = np.linalg.norm(face.plane.to_board(told["corners_px"]) - wanted, axis=1)
    assert off.max() < (2.0 if face.way is Way.CARDS else 4.0)
    found = [Polygon(one.outline).buffer(2.0) for one in suggest(face, DetectionSettings(reader="classical"))]
    shown = [one for one in told["defects"] if one["kind"] not in ("stain", "check", "wane")]
    missed = [
        one["kind"] for one in shown if not any(f.intersects(Polygon(one["outline_mm"])) for f in found)
    ]
    assert len(missed) <= 0.25 * len(shown), missed
