"""The learned reader's file is checked before use, and what is wrong with it is one sentence."""

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from stockyard.errors import MissingPart
from stockyard.photos import net
from stockyard.photos.classes import CLASSES
from stockyard.photos.detect import DetectionSettings, detect, fitted_by
from stockyard.photos.net import learned_reader
from tests.photos.test_detect import SEEN, at_scale

WEIGHTS = Path(net.__file__).parent / "weights"
PICTURE = at_scale(SEEN[0][1])
SCALE = (1 / 3, 1 / 3)


@pytest.fixture
def model(tmp_path: Path) -> Path:
    for name in ("reader.onnx", "reader.json"):
        (tmp_path / name).write_bytes((WEIGHTS / name).read_bytes())
    return tmp_path / "reader.onnx"


def test_the_reader_that_ships_is_small_and_comes_with_its_papers() -> None:
    assert (WEIGHTS / "reader.onnx").stat().st_size < 6_000_000
    papers = (WEIGHTS / "MODEL_CARD.md").read_text() + (WEIGHTS / "ATTRIBUTION.txt").read_text()
    for part in ("CC BY 4.0", "10.12688/f1000research.52903.2", "Kodytek"):
        assert part in papers


def test_every_answer_adds_up_to_one_and_follows_the_picture_size() -> None:
    reader = learned_reader()
    told = reader.ask(np.random.default_rng(1).random((1, 3, 48, 80), np.float32))
    assert told.shape == (1, len(CLASSES), 24, 40)
    assert np.isfinite(told).all()


def damage(model: Path) -> None:
    content = bytearray(model.read_bytes())
    content[1000] ^= 255
    model.write_bytes(bytes(content))


def other_classes(model: Path) -> None:
    told = json.loads(model.with_suffix(".json").read_text())
    told["classes"][4] = "dent"
    model.with_suffix(".json").write_text(json.dumps(told))


def no_network(model: Path) -> None:
    import hashlib

    model.write_bytes(b"not a network at all")
    told = json.loads(model.with_suffix(".json").read_text())
    told["sha256"] = hashlib.sha256(b"not a network at all").hexdigest()
    model.with_suffix(".json").write_text(json.dumps(told))


WRONG = {
    "missing": (lambda model: model.unlink(), "cannot be read"),
    "without its JSON": (lambda model: model.with_suffix(".json").unlink(), "cannot be read"),
    "damaged": (damage, "damaged"),
    "cut short": (lambda model: model.write_bytes(model.read_bytes()[:5000]), "damaged"),
    "with JSON of nothing": (
        lambda model: model.with_suffix(".json").write_text("{}"),
        "cannot be understood",
    ),
    "for other flaws": (other_classes, "other classes"),
    "no network": (no_network, "cannot make a network"),
    "too large": (lambda model: model.write_bytes(bytes(6_100_000)), "larger than 6 MB"),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_model_that_is_wrong_is_named_and_the_classical_reader_goes_on(
    what: str, model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spoil, said = WRONG[what]
    spoil(model)
    with pytest.raises(MissingPart, match=said):
        learned_reader(model)
    monkeypatch.setenv("STOCKYARD_READER", str(model))
    with pytest.raises(MissingPart, match=said):
        learned_reader()


def read_instead() -> str:
    """What is said when the classical reader has to read, its suggestions as they would have been."""
    small = np.ascontiguousarray(PICTURE[:200, :300])
    instead = detect(small, SCALE, "horizontal")
    plain = detect(small, SCALE, "horizontal", DetectionSettings(reader="classical"))
    assert instead.reader == "classical"
    assert instead.fitted == fitted_by(DetectionSettings()) == plain.fitted
    assert [one.box_px for one in instead.suggestions] == [one.box_px for one in plain.suggestions]
    (note,) = instead.notes
    assert note.count(". ") == 0
    return note


def test_a_missing_model_leaves_the_classical_reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STOCKYARD_READER", str(tmp_path / "none.onnx"))
    assert "none.onnx" in read_instead()


def test_an_opencv_without_dnn_leaves_the_classical_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    net._checked.cache_clear()
    monkeypatch.delattr(cv2, "dnn")
    assert "dnn" in read_instead()
    net._checked.cache_clear()


def test_too_little_memory_leaves_the_classical_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(net, "_free_mb", lambda: 120.0)
    assert "120 MB" in read_instead()


def test_a_retrained_model_is_used_by_setting_and_taken_back(
    model: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = json.loads(model.with_suffix(".json").read_text())
    told["name"] = "ours 2"
    model.with_suffix(".json").write_text(json.dumps(told))
    before = fitted_by(DetectionSettings())
    monkeypatch.setenv("STOCKYARD_READER", str(model))
    assert fitted_by(DetectionSettings()) == "ours 2"
    monkeypatch.delenv("STOCKYARD_READER")
    assert fitted_by(DetectionSettings()) == before != "ours 2"
