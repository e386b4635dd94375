"""A copy of the yard taken while it is in use, and a yard made from such a copy, its pictures with it."""

import contextlib
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from stockyard.errors import BadInput, Refused, StoreUnusable
from stockyard.records.connect import connect, make_folder, yard_url
from stockyard.records.faults import place_of, sqlite_fault
from stockyard.records.migrate import Standing, standing
from stockyard.records.picture_files import PictureFiles, folder_beside


def back_up(place: str | Path | None, file: Path) -> Path:
    """Copy an SQLite yard into a new file, whole or not at all, while others may be writing.

    Returns the file. Raises BadInput when it is there already, StoreUnusable when either cannot be used,
    Refused for a yard on a PostgreSQL server.
    """
    url = yard_url(place)
    if url.get_backend_name() != "sqlite":
        raise Refused(
            f"{place_of(url)} is on a server, which has its own way: pg_dump --format=custom --file={file}"
            f" {url.database or ''}".rstrip()
            + ", and pg_restore to put it back; copy its pictures' folder (STOCKYARD_PICTURES) after it."
        )
    source = Path(url.database or "")
    if not source.is_file():
        raise StoreUnusable(f"There is no yard in {source}; name it with --db.")
    return _copied(source, file, newer_too=True)


def restore(file: Path, place: str | Path | None) -> Path:
    """Make a new SQLite yard from a copy. Returns where it is.

    Raises BadInput when something is there already or the copy is not, StoreUnusable when the copy is
    damaged, no yard or newer than this programme, Refused for a place on a PostgreSQL server.
    """
    url = yard_url(place)
    if url.get_backend_name() != "sqlite":
        raise Refused(f"{place_of(url)} is on a server; put a pg_dump of it back with pg_restore.")
    if not file.is_file():
        raise BadInput(f"There is no copy in {file}.")
    make_folder(url)
    return _copied(file, Path(url.database or ""), newer_too=False)


@dataclass(frozen=True, slots=True)
class PicturesWith:
    """The pictures that lie with a yard's file. files: on record; missing: of them, not there or altered."""

    folder: Path
    files: int
    missing: int


def pictures_with(file: Path) -> PicturesWith:
    """Which of the pictures that a yard's file records lie with it, each read. Raises StoreUnusable."""
    folder = folder_beside(file)
    names = _picture_names(file)
    found = PictureFiles(folder).look_through(names)
    return PicturesWith(folder, len(names), len(found.missing) + len(found.altered))


def _pictures_of(source: Path) -> Path:
    """Where the pictures of a file lie; one put aside before an upgrade shares those of its yard."""
    own, (stem, mark, _) = folder_beside(source), source.stem.partition(".before-upgrade-")
    return own if own.exists() or not mark else folder_beside(source.with_name(stem + source.suffix))


def _picture_names(file: Path) -> set[str]:
    """The picture files that a yard's file records, whatever its version."""
    with _opened(file) as read:
        tables = {name for (name,) in read.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if not {"picture", "photo"} <= tables:
            return set()
        rows = read.execute(
            "SELECT digest || '.' || extension FROM picture UNION SELECT thumb_digest || '.jpg' FROM picture"
            " UNION SELECT face_digest || '.jpg' FROM photo UNION SELECT thumb_digest || '.jpg' FROM photo"
        )
        return {name for (name,) in rows}


def _copied(source: Path, target: Path, *, newer_too: bool) -> Path:
    if target.exists():
        raise BadInput(f"{target} is there already, and nothing is written over; name another.")
    beside = target.with_name(f".{target.name}.part")
    pictures, pictures_beside = folder_beside(target), folder_beside(beside)
    if pictures.exists() and not _left_by_a_copy(pictures, source):
        raise BadInput(f"{pictures} is there already, and nothing is written over; name another file.")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        beside.unlink(missing_ok=True)
        for left in (pictures, pictures_beside):
            if left.exists():
                shutil.rmtree(left)
        with _opened(source) as read, _opened(beside) as write:
            read.backup(write)
        _refuse_foreign(beside, source, newer_too)
        with _opened(beside) as copy:
            # One file that needs no companions, so that it can be carried away.
            copy.execute("PRAGMA journal_mode = DELETE")
            told = copy.execute("PRAGMA integrity_check").fetchone()[0]
        if told != "ok":
            raise StoreUnusable(f"{source} is damaged ({told}); put back your last good copy of it.")
        # What is recorded in the copy was whole on the disk before, and is never changed or deleted.
        if names := _picture_names(beside):
            pictures_beside.mkdir()
            PictureFiles(_pictures_of(source)).copy_to(PictureFiles(pictures_beside), names)
            pictures_beside.rename(pictures)
        beside.rename(target)
    except sqlite3.Error as error:
        raise sqlite_fault(error, str(source)) or error from None
    except OSError as error:
        raise BadInput(f"{target} cannot be written: {error.strerror or error}.") from None
    finally:
        shutil.rmtree(pictures_beside, ignore_errors=True)
        for leftover in (beside, *(beside.with_name(beside.name + end) for end in ("-wal", "-shm"))):
            with contextlib.suppress(OSError):
                leftover.unlink(missing_ok=True)
    return target


def _left_by_a_copy(pictures: Path, source: Path) -> bool:
    """Does a folder hold nothing but pictures of this yard, as a copy stopped before its last step leaves it?

    Their names are the digests of what they hold, so that nothing is lost when they are copied again.
    """
    try:
        names = _picture_names(source)
    except sqlite3.Error:
        return False
    return pictures.is_dir() and all(each.name in names for each in pictures.rglob("*") if each.is_file())


def _opened(path: Path) -> "contextlib.closing[sqlite3.Connection]":
    return contextlib.closing(sqlite3.connect(path))


def _refuse_foreign(copy: Path, source: Path, newer_too: bool) -> None:
    """Looks at the copy, never at the source, which may lie where nothing can be written.

    What is no yard is neither copied nor put back. An older one is both, and upgraded when it is used; a
    newer one can be copied.
    """
    engine = connect(yard_url(str(copy.absolute())))
    try:
        at = standing(engine)
    finally:
        engine.dispose()
    if at in (Standing.EMPTY, Standing.FOREIGN):
        raise Standing.FOREIGN.refusal(yard_url(str(source)))
    if at is Standing.NEWER and not newer_too:
        raise at.refusal(yard_url(str(source)))
