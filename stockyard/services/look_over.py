"""Look over an installation and its yard: what is fine, and what to do about what is not."""

import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING

from packaging.requirements import Requirement

import stockyard
from stockyard.errors import StockyardError, StoreUnusable
from stockyard.timber.errand import ErrandState

if TYPE_CHECKING:
    from stockyard.records import OpenWork

ROOM_MB = 1_000
"""Free disk that leaves room for a copy of a workshop's yard and a day's photographs."""

WAITED = timedelta(minutes=10)
"""An errand that has waited or gone without a word for so long is taken up by nobody."""

_AHEAD = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at. told: how it is, and where it is not fine, what to do."""

    what: str
    fine: bool
    told: str


def look_over_programme() -> list[Finding]:
    """This installation, without any yard: versions, fonts, OpenCV and the reader of faces."""
    return [
        _versions(),
        _part("fonts", _fonts),
        _part("OpenCV", _opencv),
        _part("reader of faces", _reader),
    ]


def look_over_yard(open_work: "OpenWork", folder: Path | None) -> list[Finding]:
    """A yard that opens: its database, pictures, disk, clock and unfinished errands. Changes nothing.

    folder: where its file lies; None on a server. Each finding stands for itself.
    """
    return [
        _part("records", lambda: _records(open_work)),
        _part("pictures", lambda: _pictures(open_work)),
        _part("disk", lambda: _disk(open_work, folder)),
        _part("clock", lambda: _clock(open_work)),
        _part("errands", lambda: _errands(open_work)),
    ]


def _part(what: str, look: Callable[[], str]) -> Finding:
    """What `look` tells is fine; what it raises is not."""
    try:
        return Finding(what, True, look())
    except StockyardError as error:
        return Finding(what, False, error.message)


def _versions() -> Finding:
    unmet = list(_unmet())
    told = (
        f"Stockyard {stockyard.__version__}, Python {sys.version.split()[0]}, SQLite {sqlite3.sqlite_version}"
    )
    if unmet:
        told += f"; {', '.join(unmet)}. Install Stockyard again in an environment of its own."
    return Finding("versions", not unmet, told)


def _unmet() -> Iterator[str]:
    """Libraries that are missing, or not of a version that Stockyard works with."""
    for line in metadata.requires("stockyard") or ():
        wanted = Requirement(line)
        if wanted.marker is not None and not wanted.marker.evaluate({"extra": ""}):
            continue
        try:
            found = metadata.version(wanted.name)
        except metadata.PackageNotFoundError:
            yield f"{wanted.name} is missing"
            continue
        if not wanted.specifier.contains(found, prereleases=True):
            yield f"{wanted.name} is {found}, and {wanted.specifier} is needed"


def _fonts() -> str:
    from stockyard.drawings.fonts import font_name

    return ", ".join(font_name(bold, serif) for serif in (False, True) for bold in (False, True))


def _opencv() -> str:
    from stockyard.photos.opencv import cv2

    return f"{cv2.__version__} loads"


def _reader() -> str:
    from stockyard.photos.net import learned_reader

    return f"{learned_reader().name}, its weights whole"


def _records(open_work: "OpenWork") -> str:
    with open_work(reading=True) as work:
        against, (movements, pieces) = work.proofs.store(), work.proofs.sizes()
    if against:
        raise StoreUnusable(
            f"{len(against)} places are damaged, the first: {against[0].where}, {against[0].summed}; put back"
            " your last copy (`stockyard restore`), and keep the damaged file."
        )
    return f"{pieces:,} pieces and {movements:,} movements; `stockyard books check` proves them"


def _pictures(open_work: "OpenWork") -> str:
    with open_work(reading=True) as work:
        names = work.photos.file_names()
        if not names:
            return "none yet"
        files = work.picture_files
    missing = [name for name in names if not files.path(name).is_file()]
    if missing:
        raise StoreUnusable(
            f"{len(missing):,} of {len(names):,} files are not in {files.folder}; put them back from your"
            " last copy, then run `stockyard photo check`."
        )
    return f"{len(names):,} files in {files.folder}; `stockyard photo check` reads each"


def _disk(open_work: "OpenWork", folder: Path | None) -> str:
    with open_work(reading=True) as work:
        at = folder or next((each for each in work.picture_folders if each.exists()), Path.cwd())
    free = shutil.disk_usage(at).free // 1_000_000
    if free < ROOM_MB:
        raise StoreUnusable(f"{free:,} MB are free at {at}; make room for at least {ROOM_MB:,} MB.")
    return f"{free:,} MB free at {at}"


def _clock(open_work: "OpenWork") -> str:
    with open_work(reading=True) as work:
        latest, now = work.movements.latest_at(), work.now
    if latest is not None and latest - now > _AHEAD:
        raise StoreUnusable(
            f"this machine's clock says {now:%Y-%m-%d %H:%M}, and the last entry was made at"
            f" {latest.astimezone(now.tzinfo):%Y-%m-%d %H:%M}; set the clock before booking anything."
        )
    return f"{now:%Y-%m-%d %H:%M %z}"


def _errands(open_work: "OpenWork") -> str:
    with open_work(reading=True) as work:
        counts, left = work.errands.counts(), work.errands.left_alone(work.now - WAITED)
    if left:
        raise StoreUnusable(
            f"{left:,} have waited for more than {WAITED.seconds // 60} minutes; they are done where"
            " `stockyard serve` runs."
        )
    under_way = counts.get(ErrandState.WAITING, 0) + counts.get(ErrandState.RUNNING, 0)
    return f"{under_way:,} under way, none left alone"
