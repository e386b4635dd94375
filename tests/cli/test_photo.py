import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.command import stockyard


@pytest.fixture
def face(tmp_path: Path) -> Path:
    """A pale face of 400 x 120 mm at 3 px a mm with one dark crack 120 mm long, on a dark bench."""
    noise = np.random.default_rng(4).normal(0, 2.0, (440, 1280, 1))
    picture = np.full((440, 1280, 3), (40, 42, 45), float)
    picture[40:400, 40:1240] = (214, 186, 146)
    picture += noise
    picture[218:221, 400:760] = (45, 32, 24)
    path = tmp_path / "face.png"
    Image.fromarray(picture.clip(0, 255).astype(np.uint8)).save(path)
    return path


def test_a_dark_line_is_suggested_where_it_is(face: Path) -> None:
    """What kind of line it is (a crack, a vein of gum) is for a person to say; where it is is certain."""
    told = stockyard("photo", "detect", face, "--mm-per-px", "0.333", "--json").json
    best = max(told["defects"], key=lambda each: each["confidence"])
    left, top, right, bottom = best["box_px"]
    assert (left, right) == pytest.approx((400, 760), abs=25)
    assert top <= 219.5 <= bottom
    assert set(best) >= {"kind", "box_px", "outline_px", "confidence", "could_be"}
    assert "suggested" in stockyard("photo", "detect", face, "--mm-per-px", "0.333").out


@pytest.mark.parametrize(
    "scale", ["0", "-1", "nan", "0.3,0.3,0.3", "wide"], ids=["none", "below", "nan", "three", "word"]
)
def test_a_scale_that_cannot_be_is_refused(face: Path, scale: str) -> None:
    stockyard("photo", "detect", face, "--mm-per-px", scale, code=2)


def test_what_is_no_picture_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "cat.jpg"
    path.write_bytes(b"meow" * 100)
    assert "not a picture" in stockyard("photo", "detect", path, "--mm-per-px", "0.3", code=2).err


def test_the_cards_are_a_pdf(tmp_path: Path) -> None:
    stockyard("photo", "cards", tmp_path / "cards.pdf")
    assert (tmp_path / "cards.pdf").read_bytes().startswith(b"%PDF")


def test_without_opencv_photographs_say_so_and_all_else_works(face: Path, tmp_path: Path) -> None:
    script = "import sys\nsys.modules['cv2'] = None\nfrom stockyard.cli import main\nmain(sys.argv[1:])"

    def run(*arguments: object) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", script, *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, check=False)

    refused = run("photo", "detect", face, "--mm-per-px", "0.3")
    assert refused.returncode == 3
    assert len(refused.stderr.splitlines()) == 1
    assert "apt-get install libgl1 libglib2.0-0" in refused.stderr
    assert run("--db", tmp_path / "yard.db", "boards").returncode == 0
