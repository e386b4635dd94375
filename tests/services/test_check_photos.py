import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from stockyard.errors import StockyardError
from stockyard.records import Yard
from stockyard.records.repositories.photos import PhotoRepository
from stockyard.services.add_photo import add_photo
from stockyard.services.check_photos import check_photos
from stockyard.timber import Face
from tests.services.photographs import SAMPLES, board_for, keep_photo, sample

ROOT = Path(__file__).parents[2]


def test_missing_altered_and_left_over_files_are_told_apart(sqlite_yard: Yard) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    photo = add_photo(sqlite_yard.open_work, board, Face.A, [sample("SG-0008-A")]).photo
    with sqlite_yard.open_work(reading=True) as work:
        files = work.picture_files
    assert check_photos(sqlite_yard.open_work).sound
    (picture,) = photo.pictures
    files.path(f"{photo.face_digest}.jpg").unlink()
    files.path(f"{picture.digest}.jpg").write_bytes(b"overwritten")
    (files.folder / "ab").mkdir(exist_ok=True)
    (files.folder / "ab" / "holiday.jpg").write_bytes(b"not ours")

    found = check_photos(sqlite_yard.open_work)

    assert not found.sound
    assert found.missing == ((f"{photo.face_digest}.jpg", "face"),)
    assert found.altered == ((f"{picture.digest}.jpg", "picture"),)
    assert (found.unrecorded, found.swept, found.files) == (("holiday.jpg",), (), 4)
    swept = check_photos(sqlite_yard.open_work, sweep=True)
    assert (swept.swept, swept.unrecorded) == (("holiday.jpg",), ())
    assert swept.missing == found.missing


def test_when_the_records_refuse_the_files_go_too(sqlite_yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    board = board_for(sqlite_yard, "SG-0008-A")
    keep_photo(sqlite_yard, board, Face.B, None)

    def refuse(*_: object) -> None:
        raise StockyardError("no more photos today")

    monkeypatch.setattr(PhotoRepository, "add", refuse)
    with pytest.raises(StockyardError, match="no more"):
        add_photo(sqlite_yard.open_work, board, Face.A, [sample("SG-0008-A")])

    with sqlite_yard.open_work(reading=True) as work:
        files = work.picture_files
        assert len(work.photos.of_piece(board)) == 1
    assert [path.read_bytes() for path in files.folder.rglob("*.jpg")] == [f"{board} B".encode()]
    assert not files.interrupted()


def test_whoever_is_killed_while_adding_leaves_no_orphan_and_no_record_without_its_file(
    sqlite_yard: Yard, sqlite_path: Path, tmp_path: Path
) -> None:
    """SIGKILL at every step of writing and at random times; STOCKYARD_KILLS says how many of the latter."""
    board = board_for(sqlite_yard, "SG-0008-A")
    sqlite_yard.close()
    small = io.BytesIO()
    with Image.open(SAMPLES / "SG-0008-A.jpg") as whole:
        whole.resize((1300, 975)).save(small, "JPEG", quality=90)
    (tmp_path / "face.jpg").write_bytes(small.getvalue())
    timed = int(os.environ.get("STOCKYARD_KILLS", "12"))

    done = subprocess.run(
        [sys.executable, "-m", "tests.services.killed", sqlite_path, board, tmp_path, str(timed), "7"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr[-3000:]
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    stepped = [line for line in lines if line["step"] is not None]
    assert len(lines) - len(stepped) == timed
    assert sum(line["died"] for line in stepped) >= 15, "most were killed in the middle"
    assert not stepped[-1]["died"], "and the last came through"
    assert any(line["orphans"] for line in stepped), "some were killed between file and record"
    for line in lines:
        assert (line["missing"], line["altered"]) == (0, 0), line
        assert line["sound"], line
        assert line["left"] == line["recorded"], line
