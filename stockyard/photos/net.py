"""The learned reader's file: found, checked before use, and run by OpenCV's own dnn module."""

import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from threading import Lock

import numpy as np

from stockyard.errors import MissingPart
from stockyard.photos.classes import CLASSES
from stockyard.photos.masks_to_defects import MEASURES
from stockyard.photos.opencv import cv2
from stockyard.photos.tiles import Likely

_LEAST_FREE_MB = 500.0  # what reading a piece takes at the most, beside the picture itself
_MOST_BYTES = 6_000_000


@dataclass(frozen=True, slots=True)
class FaceNet:
    """A reader ready for use. name: kept with results. sureness: (n + 1,) of the sum that says how sure."""

    name: str
    ask: Callable[[Likely], Likely]
    sureness: Likely

    def sure(self, measures: Likely) -> Likely:
        """(n, len(MEASURES)) of patches to how sure each is, 0..1."""
        sums = self.sureness[0] + measures @ self.sureness[1:]
        return np.asarray(1 / (1 + np.exp(-sums)), np.float32)


def learned_reader(file: Path | None = None) -> FaceNet:
    """The reader in use, checked.

    file: a model's ONNX, its JSON beside it; None for the one that STOCKYARD_READER names, and where that is
    not set the one that ships. Raises MissingPart, with one
    sentence that says what is the matter, for a model that is missing, damaged or of another kind, for an
    OpenCV without dnn, and where too little memory is free.
    """
    free = _free_mb()
    if free is not None and free < _LEAST_FREE_MB:
        raise MissingPart(
            f"The learned reader needs {_LEAST_FREE_MB:.0f} MB of free memory and {free:.0f} MB are free; "
            "close something, or go on with the classical reader."
        )
    named = os.environ.get("STOCKYARD_READER", "").strip()
    shipped = Path(str(files("stockyard.photos").joinpath("weights", "reader.onnx")))
    at = file or (Path(named) if named else shipped)
    try:
        content = at.read_bytes()
        told = at.with_suffix(".json").read_bytes()
    except OSError as trouble:
        raise _unfit(at, f"it cannot be read ({trouble.strerror or trouble})") from trouble
    return _checked(at, content, told)


@lru_cache(maxsize=2)
def _checked(at: Path, content: bytes, told: bytes) -> FaceNet:
    if len(content) > _MOST_BYTES:
        raise _unfit(at, f"it is larger than {_MOST_BYTES / 1e6:.0f} MB")
    try:
        kept = json.loads(told)
        sureness = np.array(kept["sureness"], np.float32)
        name, own = str(kept["name"]), str(kept["sha256"])
        alike = tuple(kept["classes"]) == CLASSES and tuple(kept["measures"]) == MEASURES
    except (ValueError, KeyError, TypeError) as trouble:
        raise _unfit(at, "what stands beside it in JSON cannot be understood") from trouble
    if hashlib.sha256(content).hexdigest() != own:
        raise _unfit(at, "it is damaged, or not the file that its JSON tells of")
    if not alike or sureness.shape != (len(MEASURES) + 1,) or not np.isfinite(sureness).all():
        raise _unfit(at, "it was made for other classes of flaws")
    if not hasattr(cv2, "dnn"):
        raise MissingPart(
            "This OpenCV was built without its dnn module, which the learned reader needs; install the "
            "package opencv-python, or go on with the classical reader."
        )
    ask = asked_of(at, content)
    trial = _tried(at, ask)
    if trial.shape != (1, len(CLASSES), 16, 24) or not np.isfinite(trial).all():
        raise _unfit(at, "it does not answer as a reader of faces does")
    return FaceNet(name, ask, sureness)


def asked_of(at: Path, content: bytes) -> Callable[[Likely], Likely]:
    """What asks a model, read by OpenCV; safe to share among threads. Raises MissingPart."""
    try:
        net = cv2.dnn.readNetFromONNX(np.frombuffer(content, np.uint8), cv2.dnn.ENGINE_CLASSIC)
    except cv2.error as trouble:
        raise _unfit(at, "OpenCV cannot make a network of it") from trouble

    one_at_a_time = Lock()

    def ask(picture: Likely) -> Likely:
        with one_at_a_time:
            net.setInput(picture)
            return np.array(net.forward(), np.float32)

    return ask


def _tried(at: Path, ask: Callable[[Likely], Likely]) -> Likely:
    try:
        return ask(np.full((1, 3, 32, 48), 0.5, np.float32))
    except cv2.error as trouble:
        raise _unfit(at, "OpenCV cannot run it") from trouble


def _unfit(at: Path, why: str) -> MissingPart:
    return MissingPart(f"The learned reader {at.name} is not usable: {why}; the classical reader goes on.")


def _free_mb() -> float | None:
    """Memory that is free, in MB, where the system says so."""
    told = Path("/proc/meminfo")
    if not told.exists():
        return None
    for line in told.read_text("ascii").splitlines():
        if line.startswith("MemAvailable:"):
            return float(line.split()[1]) / 1024
    return None
