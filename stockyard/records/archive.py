"""The whole yard as one archive of plain text and pictures, and an empty yard filled from one.

A ZIP file: `archive.json` says what is in it, `tables/NAME.csv` holds the rows of each table, `pictures/`
the pictures under the names that the tables give them. Every table is listed with its rows, the sums of its
figures and the SHA-256 of its text; a yard filled from it must give the same text again before it is kept.
"""

import csv
import hashlib
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

import stockyard
from stockyard.errors import BadInput, StoreUnusable
from stockyard.records.archived_tables import Archived, TableTally, archived, described, text_of
from stockyard.records.connect import open_yard, yard_url
from stockyard.records.filling import Filling, filling
from stockyard.records.migrate import HEAD, revisions
from stockyard.records.picture_files import digest_of
from stockyard.records.tables import Base
from stockyard.records.unit_of_work import UnitOfWork

FORMAT = "stockyard.archive/1"
LIST = "archive.json"
LEFT_OUT = ("sign_in", "sign_in_failure")
"""Who is signed in just now: no record of the yard, and a key to it in the wrong hands."""


@dataclass(frozen=True, slots=True)
class ArchiveSheet:
    """What an archive holds. tables: rows by name. digest: of all its tables and pictures together."""

    file: Path
    yard: str
    made: str
    tables: dict[str, int]
    pictures: int
    digest: str


def export_archive(
    place: str | Path | None, file: Path, *, now: datetime, pictures: str | Path | None = None
) -> ArchiveSheet:
    """Write the whole yard, as it is at one moment, into a new archive, whole or not at all.

    now: aware. Raises BadInput when the file is there already or cannot be written, StoreUnusable when the
    yard cannot be read or a picture of it is missing or altered.
    """
    url = yard_url(place)
    if url.get_backend_name() == "sqlite" and not Path(url.database or "").is_file():
        raise StoreUnusable(f"There is no yard in {url.database}; name it with --db.")
    if file.exists():
        raise BadInput(f"{file} is there already, and nothing is written over; name another.")
    beside = file.with_name(f".{file.name}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with (
            open_yard(place, pictures=pictures) as yard,
            yard.open_work(reading=True, now=now) as work,
            zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as archive,
        ):
            listed = _written(archive, work)
        beside.rename(file)
    except OSError as error:
        raise BadInput(f"{file} cannot be written: {error.strerror or error}.") from None
    finally:
        beside.unlink(missing_ok=True)
    return _sheet(file, str(url.database), listed)


def import_archive(
    file: Path, place: str | Path | None, *, pictures: str | Path | None = None
) -> ArchiveSheet:
    """Fill an empty yard, or one that is not there yet, from an archive, all or nothing, and prove it.

    Raises BadInput when the archive is none, damaged or newer, or the yard holds something already;
    StoreUnusable when the database or the pictures' folder cannot be used.
    """
    url = yard_url(place)
    if not file.is_file():
        raise BadInput(f"There is no archive in {file}.")
    try:
        archive = zipfile.ZipFile(file)
    except (zipfile.BadZipFile, OSError):
        raise BadInput(f"{file} is no archive of a yard.") from None
    with archive:
        listed, tables = _list_of(archive, file)
        _prove_whole(archive, listed, file)
        with filling(place, pictures, revision=listed["revision"], pictured=bool(listed["pictures"])) as yard:
            _fill(archive, yard, listed, tables, file)
    return _sheet(file, str(url.database), listed)


def _written(archive: zipfile.ZipFile, work: UnitOfWork) -> dict[str, Any]:
    tables: dict[str, Any] = {}
    for each in Base.metadata.sorted_tables:
        if each.name in LEFT_OUT:
            continue
        shape, tally = archived(each), TableTally()
        with archive.open(f"tables/{each.name}.csv", "w", force_zip64=True) as member:
            for content in text_of(work.connection, shape, tally):
                member.write(content)
        columns = [{"name": name, "kind": kind} for name, kind in shape.columns]
        tables[each.name] = {**tally.as_json(), "key": list(shape.key), "columns": columns}
    names = sorted(work.photos.file_names())
    for name in names:
        # Pictures are packed already.
        archive.writestr(f"pictures/{name}", work.picture_files.read(name), zipfile.ZIP_STORED)
    listed = {
        "format": FORMAT,
        "stockyard": stockyard.__version__,
        "made": work.now.isoformat(),
        "revision": HEAD,
        "tables": tables,
        "pictures": names,
        "sha256": _digest(tables, names),
    }
    archive.writestr(LIST, json.dumps(listed, indent=1, ensure_ascii=False))
    return listed


def _digest(tables: dict[str, Any], pictures: list[str]) -> str:
    """Of all tables and pictures; a picture's name is its own digest."""
    lines = [f"{name} {told['rows']} {told['sha256']}" for name, told in sorted(tables.items())]
    return hashlib.sha256("\n".join([*lines, *sorted(pictures)]).encode()).hexdigest()


def _list_of(archive: zipfile.ZipFile, file: Path) -> tuple[dict[str, Any], list[Archived]]:
    try:
        listed: dict[str, Any] = json.loads(archive.read(LIST))
        if listed["format"] != FORMAT:
            raise BadInput(f"{file} is of the format {listed['format']!r}; this version reads {FORMAT}.")
        tables = [described(told, name) for name, told in listed["tables"].items()]
        known = listed["revision"] in revisions()
        if _digest(listed["tables"], listed["pictures"]) != listed["sha256"]:
            raise ValueError("its list does not agree with itself")
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise BadInput(f"{file} is no archive of a yard, or is damaged ({error}).") from None
    if not known:
        raise BadInput(f"{file} was made by a newer Stockyard than this one; install that version or later.")
    return listed, tables


def _prove_whole(archive: zipfile.ZipFile, listed: dict[str, Any], file: Path) -> None:
    """Read every table and picture once before anything is written."""
    try:
        for name, told in listed["tables"].items():
            with archive.open(f"tables/{name}.csv") as member:
                if hashlib.file_digest(member, "sha256").hexdigest() != told["sha256"]:  # type: ignore[arg-type]
                    raise BadInput(f"{file} is damaged: table {name} is not as it was written.")
        for name in listed["pictures"]:
            if digest_of(archive.read(f"pictures/{name}")) != str(name).partition(".")[0]:
                raise BadInput(f"{file} is damaged: picture {name[:12]}... is not as it was written.")
    except (KeyError, zipfile.BadZipFile, OSError, EOFError) as error:
        raise BadInput(f"{file} is damaged: {error}.") from None


def _fill(
    archive: zipfile.ZipFile, yard: Filling, listed: dict[str, Any], tables: list[Archived], file: Path
) -> None:
    if yard.adding is not None:
        for name in listed["pictures"]:
            yard.adding.put(archive.read(f"pictures/{name}"), str(name).partition(".")[2])
    try:
        for each in tables:
            with archive.open(f"tables/{each.name}.csv") as member:
                yard.put(each, _lines(member))
    except (ValueError, KeyError, csv.Error) as error:
        raise BadInput(f"{file} cannot be read: {error}.") from None
    for each in tables:
        yard.prove(each, listed["tables"][each.name], file)


def _lines(member: IO[bytes]) -> Iterator[str]:
    return io.TextIOWrapper(member, encoding="utf-8", newline="")


def _sheet(file: Path, yard: str, listed: dict[str, Any]) -> ArchiveSheet:
    return ArchiveSheet(
        file=file,
        yard=yard,
        made=listed["made"],
        tables={name: told["rows"] for name, told in listed["tables"].items()},
        pictures=len(listed["pictures"]),
        digest=listed["sha256"],
    )
