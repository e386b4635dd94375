import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.cli.command import stockyard

SAMPLES = Path(__file__).parents[2] / "sample_images"


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


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A yard with one spotted gum board of the size that the sample pictures SG-0001 show."""
    tally = tmp_path / "tally.csv"
    tally.write_text("Species,Length (mm),Width (mm),Thickness (mm),Price each\nspotted gum,1800,180,30,40\n")
    place = tmp_path / "yard.db"
    stockyard("--db", place, "receive", tally, "--supplier", "Riverbend Mill", "--docket", "7")
    return place


def test_a_delivery_goes_from_pictures_to_a_map(yard: Path, tmp_path: Path) -> None:
    def photo(*words: object, code: int = 0):
        return stockyard("--db", yard, "photo", *words, code=code)

    seen = photo("add", "SG-0001", "--face", "A", SAMPLES / "SG-0001-A.jpg", "--check")
    assert "Nothing was stored" in seen.out.replace("\n", " ")
    assert "None of these" in photo("list").out
    added = photo("add", "SG-0001", "--face", "A", SAMPLES / "SG-0001-A.jpg").out
    assert "photo 1, put to scale by cards 0, 1, 2, 3" in added
    assert "mm a pixel along" in added
    assert "against its logged size" in added
    assert "nothing new was stored" in photo(
        "add", "SG-0001", "--face", "A", SAMPLES / "SG-0001-A.jpg"
    ).out.replace("\n", " ")
    photo("add", "SG-0001", "--face", "B", SAMPLES / "SG-0001-B.jpg")
    read = photo("suggest", "--docket", "7", "--json").json
    numbers = [each["number"] for face in read for each in face["suggestions"]]
    assert numbers == list(range(1, len(numbers) + 1))
    assert all(len(line) <= 80 for line in photo("list", "SG-0001").out.splitlines())
    assert photo("list", "--open", "--json").json == read
    photo("show", tmp_path / "open.jpg", "--open")
    first = photo("accept", "SG-0001:1").out
    assert first.startswith("SG-0001:1 accepted: SG-0001/1, ")
    edited = photo("edit", "SG-0001:2", "--kind", "gum vein", "--json").json
    assert edited[0]["defect"]["defect"]["kind"] == "gum_vein"
    assert "kind gum vein" in photo("list", "--history", "SG-0001:2").out
    photo("reject", "--docket", "7", "--all", "--because", "marks of the saw")
    assert "Nothing waits" in photo("list", "--open").out
    photo("show", tmp_path / "open.jpg", "--open", code=2)
    assert photo("list", "SG-0001", "--json").json[0]["suggestions"][0]["decided"]["defect"] == "SG-0001/1"
    mapped = stockyard("--db", yard, "defect", "list", "SG-0001", "--json").json
    assert [each["origin"] for each in mapped] == ["photo", "photo"]
    photo("show", tmp_path / "faces.jpg", "SG-0001")
    photo("show", tmp_path / "face.jpg", "SG-0001", "--face", "A", "--bare")
    with Image.open(tmp_path / "faces.jpg") as sheet, Image.open(tmp_path / "face.jpg") as face:
        assert sheet.height > 2 * 180 / 1800 * sheet.width * 0.9
        assert face.width / face.height == pytest.approx(10, rel=0.02)
    assert "0 disagreements" in photo("check").out


def test_pictures_that_are_gone_are_told_with_3_and_a_mistake_is_taken_back(yard: Path) -> None:
    stockyard("--db", yard, "photo", "add", "SG-0001", "--face", "A", SAMPLES / "SG-0001-A.jpg")
    kept = next((yard.parent / "yard.db.pictures").rglob("*.jpg"))
    kept.unlink()

    told = stockyard("--db", yard, "photo", "check", code=3)

    assert "missing" in told.out
    assert "last copy" in told.out
    back = stockyard("--db", yard, "photo", "take-back", "1", "--because", "another board")
    assert "no longer stands" in back.out
    stockyard("--db", yard, "photo", "take-back", "1", "--because", "again", code=3)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("add", "SG-0001", "--face", "both", "FILE"), "A or B"),
        (("add", "SG-0001", "--face", "A", "nowhere.jpg"), "cannot be read"),
        (("add", "SG-0001", "--face", "A", "--corners", "1,1 2,2", "FILE"), "corners"),
        (("add", "SG-0001", "--face", "A", "--order", "size", "FILE"), "given, name or taken"),
        (("add-named", "FILE", "nowhere.jpg"), "cannot be read"),
        (("suggest",), "Name the boards"),
        (("suggest", "SG-0001"), "has no photo"),
        (("accept",), "Say which"),
        (("accept", "SG-0001", "--above", "90"), "0 to 1"),
        (("edit", "SG-0001", "--kind", "crack"), "which suggestions to correct"),
        (("show", "faces.jpg", "--bare"), "number and --face"),
    ],
)
def test_what_is_asked_for_badly_is_told_in_a_sentence(yard: Path, words: tuple[str, ...], told: str) -> None:
    named = [SAMPLES / "SG-0001-A.jpg" if word == "FILE" else word for word in words]

    assert told in stockyard("--db", yard, "photo", *named, code=2).err


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
