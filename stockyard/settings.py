"""From the environment and the options given to a yard that can be worked in.

STOCKYARD_DB         the yard's database, a file or a PostgreSQL URL, where --db is not given
STOCKYARD_PICTURES   the folder that pictures of a yard on a server lie in; a file's lie beside it
STOCKYARD_READER     a retrained reader of faces (ONNX, its JSON beside it) in place of the one that ships
STOCKYARD_WHO        the name written beside every change; the login name where it is not set
"""

import os
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockyard.records import OpenWork
    from stockyard.records.archive import ArchiveSheet
    from stockyard.records.backup import PicturesWith
    from stockyard.records.move import Moved
    from stockyard.services.look_over import Finding

__all__ = [
    "ArchiveSheet",
    "Finding",
    "Moved",
    "OpenWork",
    "PicturesWith",
    "back_up",
    "back_up_keeping",
    "export_yard",
    "import_yard",
    "look_over",
    "move_yard",
    "open_work_on",
    "pictures_with",
    "restore",
    "upgrade",
]


def open_work_on(db: str | Path | None = None, now: datetime | None = None) -> "OpenWork":
    """What services ask for: opens units of work on the yard that `db` or the environment names.

    The yard is made when there is none yet. now: a fixed moment for everything done through it, aware.
    Raises StoreUnusable when the database cannot be used, and says what to do.
    """
    from stockyard.records.connect import open_yard

    pictures = os.environ.get("STOCKYARD_PICTURES") or None
    yard = open_yard(db or os.environ.get("STOCKYARD_DB") or None, pictures=pictures)
    return partial(yard.open_work, who=os.environ.get("STOCKYARD_WHO", ""), now=now)


def upgrade(db: str | Path | None = None) -> Path | None:
    """Bring the yard's database up to date, making it when there is none.

    Returns the copy that was put aside of an older SQLite file, or None when nothing had to change.
    """
    from stockyard.records import migrate

    return migrate.upgrade(db or os.environ.get("STOCKYARD_DB") or None)


def back_up(db: str | Path | None, file: Path) -> Path:
    """Copy the yard, while others may be using it, into a new file. Returns the file.

    Raises BadInput when the file is there already or cannot be written, StoreUnusable when the yard cannot be
    read, Refused for one on a PostgreSQL server, which has its own way.
    """
    from stockyard.records import backup

    return backup.back_up(db or os.environ.get("STOCKYARD_DB") or None, file)


def back_up_keeping(db: str | Path | None, folder: Path, keep: int) -> tuple[Path, tuple[Path, ...]]:
    """Copy the yard into a folder under a dated name, and let go of all but the newest copies there.

    keep: how many copies there are to be, the new one among them. Returns the new one and those let go.
    Raises as `back_up` does; then nothing is let go.
    """
    from stockyard.records.copies import back_up_keeping as copy_keeping

    place = db or os.environ.get("STOCKYARD_DB") or None
    return copy_keeping(place, folder, keep, datetime.now().astimezone())


def pictures_with(file: Path) -> "PicturesWith":
    """Which of the pictures that a yard's file records lie with it."""
    from stockyard.records import backup

    return backup.pictures_with(file)


def restore(file: Path, db: str | Path | None) -> Path:
    """Put a copy back as a new yard where none is yet. Returns where it is.

    Raises BadInput when something is there already, StoreUnusable when the copy is no yard or is damaged.
    """
    from stockyard.records import backup

    return backup.restore(file, db or os.environ.get("STOCKYARD_DB") or None)


def export_yard(db: str | Path | None, file: Path) -> "ArchiveSheet":
    """Write the whole yard, pictures and all, into a new archive of plain text. Returns what it holds.

    Raises BadInput when the file is there already or cannot be written, StoreUnusable when the yard cannot be
    read whole.
    """
    from stockyard.records.archive import export_archive

    place = db or os.environ.get("STOCKYARD_DB") or None
    now = datetime.now().astimezone()
    return export_archive(place, file, now=now, pictures=os.environ.get("STOCKYARD_PICTURES") or None)


def import_yard(file: Path, db: str | Path | None) -> "ArchiveSheet":
    """Fill an empty yard from an archive, all or nothing. Returns what it holds.

    Raises BadInput when the archive is none or damaged or the yard is not empty, StoreUnusable when the
    database cannot be used.
    """
    from stockyard.records.archive import import_archive

    place = db or os.environ.get("STOCKYARD_DB") or None
    return import_archive(file, place, pictures=os.environ.get("STOCKYARD_PICTURES") or None)


def move_yard(db: str | Path | None, target: str) -> "Moved":
    """Carry the whole yard into an empty database, all or nothing. Returns what both now hold.

    Raises BadInput when something is there already, StoreUnusable when either cannot be used.
    """
    from stockyard.records import move

    pictures = os.environ.get("STOCKYARD_PICTURES") or None
    return move.move_yard(
        db or os.environ.get("STOCKYARD_DB") or None,
        target,
        now=datetime.now().astimezone(),
        pictures=pictures,
        target_pictures=pictures,
    )


def look_over(db: str | Path | None) -> "list[Finding]":
    """Look over this installation and the yard that `db` or the environment names, changing nothing.

    Returns what was found; a yard that cannot be opened is one of the findings.
    """
    from stockyard.errors import StockyardError
    from stockyard.records.connect import yard_url
    from stockyard.records.migrate import HEAD, Standing, standing_at
    from stockyard.services.look_over import Finding, look_over_programme, look_over_yard

    place = db or os.environ.get("STOCKYARD_DB") or None
    found = look_over_programme()
    try:
        stands, where = standing_at(place)
        if stands is Standing.EMPTY:
            told = f"There is no yard in {where} yet; name yours with --db, or go on and one is made."
            return [*found, Finding("database", False, told)]
        open_work = open_work_on(place)
    except StockyardError as error:
        return [*found, Finding("database", False, error.message)]
    url = yard_url(place)
    folder = Path(url.database or "").parent if url.get_backend_name() == "sqlite" else None
    told = f"{where}, tables of revision {HEAD}, the newest"
    return [*found, Finding("database", True, told), *look_over_yard(open_work, folder)]
