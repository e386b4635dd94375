"""A picture file is read whole or refused with a sentence."""

from pathlib import Path

import pytest

from stockyard.errors import BadInput
from stockyard.photos.files import read_bytes


def test_a_file_is_read_whole(tmp_path: Path) -> None:
    (tmp_path / "face.jpg").write_bytes(b"abc")
    assert read_bytes(tmp_path / "face.jpg") == b"abc"


def test_missing_empty_large_files_and_folders_are_refused(tmp_path: Path) -> None:
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "large.jpg").write_bytes(b"x" * 11)
    for path, says in [
        (tmp_path / "none.jpg", "cannot be read"),
        (tmp_path / "empty.jpg", "is empty"),
        (tmp_path, "is a folder"),
        (tmp_path / "large.jpg", "the most that is read"),
    ]:
        with pytest.raises(BadInput, match=says):
            read_bytes(path, max_bytes=10)
