"""The files of pictures, beside the database: named by what they hold, written once, never changed.

A file is whole under its name before a record of it is committed: it is written beside, forced to the disk
and renamed. What an interrupted writer leaves behind is known by its folder in `incoming/`, and swept when
the next one comes: at that time nobody else may be adding, which the caller sees to.
"""

import contextlib
import hashlib
import os
import shutil
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from stockyard.errors import StoreUnusable

_INCOMING = "incoming"


@dataclass(frozen=True, slots=True)
class FileFindings:
    """What is wrong with the files: recorded ones missing or altered, and ones that no record names."""

    missing: tuple[str, ...]
    altered: tuple[str, ...]
    unrecorded: tuple[str, ...]


def digest_of(content: bytes) -> str:
    """What a file is named by: the SHA-256 of its content, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def folder_beside(database: Path) -> Path:
    """Where the pictures of an SQLite yard lie: beside it, under its own name."""
    return database.with_name(f"{database.name}.pictures")


class PictureFiles:
    """The folder of one yard's pictures."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, name: str) -> Path:
        """Where the file of that name ("<digest>.jpg") lies, there or not."""
        return self.folder / name[:2] / name

    def read(self, name: str) -> bytes:
        """What a recorded file holds. Raises StoreUnusable when it is missing or is not what it was."""
        try:
            content = self.path(name).read_bytes()
        except OSError as error:
            raise StoreUnusable(
                f"The picture {name[:12]}... is not in {self.folder} ({error.strerror}); put back the "
                "pictures from your last copy, then run `stockyard photo check`."
            ) from None
        if digest_of(content) != name.partition(".")[0]:
            raise StoreUnusable(
                f"The picture {name[:12]}... in {self.folder} has been altered; put it back from your last "
                "copy, then run `stockyard photo check`."
            )
        return content

    @contextlib.contextmanager
    def adding(self) -> Iterator["Adding"]:
        """Write files; those whose records are then committed stay, whatever else was begun can be swept.

        Raises StoreUnusable when the folder cannot be written to.
        """
        mark = self.folder / _INCOMING / uuid4().hex
        try:
            mark.mkdir(parents=True)
            _force(mark.parent)
        except OSError as error:
            raise _unwritable(self.folder, error) from None
        yield Adding(self, mark)
        # Reached only when all went well; otherwise the mark stays, and tells that something may be left.
        shutil.rmtree(mark, ignore_errors=True)

    def interrupted(self) -> bool:
        """Was somebody stopped while adding? True also while someone adds."""
        try:
            return any((self.folder / _INCOMING).iterdir())
        except OSError:
            return False

    def sweep(self, recorded: Iterable[str]) -> tuple[str, ...]:
        """Delete every file that is not recorded, and what was begun. Nobody may be adding. Returns names."""
        keep, swept = set(recorded), []
        for path in self._files():
            if path.name not in keep:
                path.unlink(missing_ok=True)
                swept.append(path.name)
        for mark in list((self.folder / _INCOMING).iterdir()) if self.interrupted() else []:
            shutil.rmtree(mark, ignore_errors=True)
        return tuple(sorted(swept))

    def look_through(self, recorded: Iterable[str]) -> FileFindings:
        """Read every file and compare it with its name and with what is recorded."""
        keep = set(recorded)
        there = {path.name: path for path in self._files()}
        altered = [
            name
            for name in sorted(keep & set(there))
            if _digest_of_file(there[name]) != name.partition(".")[0]
        ]
        return FileFindings(
            tuple(sorted(keep - set(there))), tuple(altered), tuple(sorted(set(there) - keep))
        )

    def copy_to(self, other: "PictureFiles", recorded: Iterable[str]) -> tuple[str, ...]:
        """Copy recorded files into another folder, each checked. Returns those missing or altered."""
        lost = []
        for name in sorted(recorded):
            try:
                content = self.read(name)
            except StoreUnusable:
                lost.append(name)
                continue
            try:
                other.path(name).parent.mkdir(parents=True, exist_ok=True)
                _write(other.path(name), content)
            except OSError as error:
                raise _unwritable(other.folder, error) from None
        return tuple(lost)

    def _files(self) -> Iterator[Path]:
        if not self.folder.is_dir():
            return
        for shelf in sorted(self.folder.iterdir()):
            if shelf.is_dir() and shelf.name != _INCOMING:
                yield from sorted(path for path in shelf.iterdir() if path.is_file())
            elif shelf.is_file():
                yield shelf


@dataclass(frozen=True, slots=True)
class Adding:
    """Files on their way in. mark: a folder of their own, until their records are committed."""

    files: PictureFiles
    mark: Path

    def put(self, content: bytes, extension: str) -> str:
        """Have a file of that content, durable under its name. Returns its digest.

        Raises StoreUnusable when the disk will not take it.
        """
        digest = digest_of(content)
        target = self.files.path(f"{digest}.{extension}")
        try:
            if target.is_file() and _digest_of_file(target) == digest:
                return digest
            beside = self.mark / target.name
            _write(beside, content)
            target.parent.mkdir(parents=True, exist_ok=True)
            beside.replace(target)
            _force(target.parent)
            _force(target.parent.parent)
        except OSError as error:
            raise _unwritable(self.files.folder, error) from None
        return digest


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _force(folder: Path) -> None:
    """Make a folder's entries durable, where the system knows how."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _digest_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _unwritable(folder: Path, error: OSError) -> StoreUnusable:
    return StoreUnusable(
        f"Pictures cannot be kept in {folder} ({error.strerror or error}); make room there, or see to its "
        "rights."
    )
