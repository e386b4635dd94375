import hashlib
from pathlib import Path

import pytest

from stockyard.errors import StoreUnusable
from stockyard.records.picture_files import FileFindings, PictureFiles, digest_of


@pytest.fixture
def files(tmp_path: Path) -> PictureFiles:
    return PictureFiles(tmp_path / "yard.db.pictures")


def put(files: PictureFiles, *contents: bytes) -> list[str]:
    with files.adding() as adding:
        return [f"{adding.put(content, 'jpg')}.jpg" for content in contents]


def test_a_file_is_named_by_its_content_and_stored_once(files: PictureFiles) -> None:
    first, again, other = put(files, b"one", b"one", b"two")

    assert first == again == hashlib.sha256(b"one").hexdigest() + ".jpg"
    assert files.read(first) == b"one"
    assert files.read(other) == b"two"
    assert len(list(files.folder.rglob("*.jpg"))) == 2
    assert not files.interrupted()


def test_a_stopped_writer_is_known_and_swept_without_touching_what_is_recorded(files: PictureFiles) -> None:
    (kept,) = put(files, b"recorded")

    def stopped() -> None:
        with files.adding() as adding:
            adding.put(b"never recorded", "jpg")
            (adding.mark / "half written.jpg").write_bytes(b"ha")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()

    assert files.interrupted()
    swept = files.sweep([kept])

    assert swept == (f"{digest_of(b'never recorded')}.jpg",)
    assert not files.interrupted()
    assert [path.name for path in files.folder.rglob("*.jpg")] == [kept]


def test_what_is_missing_altered_or_left_over_is_found(files: PictureFiles) -> None:
    lost, spoilt, sound, orphan = put(files, b"lost", b"spoilt", b"sound", b"orphan")
    files.path(lost).unlink()
    files.path(spoilt).write_bytes(b"spoiled")
    (files.folder / "stray.txt").write_text("what is this?")

    found = files.look_through([lost, spoilt, sound])

    assert found.missing == (lost,)
    assert found.altered == (spoilt,)
    assert found.unrecorded == tuple(sorted([orphan, "stray.txt"]))
    for name in (lost, spoilt):
        with pytest.raises(StoreUnusable, match="photo check"):
            files.read(name)


def test_putting_the_same_content_again_mends_an_altered_file(files: PictureFiles) -> None:
    (name,) = put(files, b"whole")
    files.path(name).write_bytes(b"ho")

    put(files, b"whole")

    assert files.read(name) == b"whole"


def test_a_copy_leaves_out_only_what_cannot_be_read_whole(files: PictureFiles, tmp_path: Path) -> None:
    sound, spoilt = put(files, b"sound", b"spoilt")
    files.path(spoilt).write_bytes(b"spoiled")
    other = PictureFiles(tmp_path / "copy")

    assert files.copy_to(other, [sound, spoilt]) == (spoilt,)
    assert other.look_through([sound]) == FileFindings((), (), ())


def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreUnusable, match="cannot be kept"):
        put(PictureFiles(tmp_path / "file"), b"one")
