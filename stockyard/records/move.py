"""A whole yard carried from one database to another, tables and pictures, with a proof of counts and sums."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from sqlalchemy import Connection

from stockyard.errors import BadInput, StoreUnusable
from stockyard.records.archived_tables import Archived, TableTally, archived, text_of
from stockyard.records.connect import open_yard, pictures_of, yard_url
from stockyard.records.faults import place_of
from stockyard.records.filling import filling
from stockyard.records.migrate import HEAD
from stockyard.records.tables import Base


@dataclass(frozen=True, slots=True)
class MovedTable:
    """One table as it is in both yards. sums: of its columns of money and quantities. sha256: of its text."""

    name: str
    rows: int
    sums: dict[str, Decimal]
    sha256: str


@dataclass(frozen=True, slots=True)
class Moved:
    """What was carried from one yard to another, each count, sum and digest found in both."""

    source: str
    target: str
    tables: tuple[MovedTable, ...]
    pictures: int


def move_yard(
    place: str | Path | None,
    target: str,
    *,
    now: datetime,
    pictures: str | Path | None = None,
    target_pictures: str | Path | None = None,
) -> Moved:
    """Carry a yard, as it is at one moment, into an empty database or one that is not there yet.

    pictures, target_pictures: the folders of those of the two that are on a server. The source is only read.
    Raises BadInput when the target holds something or nobody said where pictures go, StoreUnusable when
    either cannot be used or a picture is missing or altered, Broken when the proof fails; the target is then
    as it was.
    """
    source = yard_url(place)
    if source.get_backend_name() == "sqlite" and not Path(source.database or "").is_file():
        raise StoreUnusable(f"There is no yard in {source.database}; name it with --db.")
    if source == yard_url(target):
        raise BadInput("A yard cannot be moved to where it is; name another place.")
    folders = pictures_of(source, pictures), pictures_of(yard_url(target), target_pictures)
    if folders[0] is not None and folders[0] == folders[1]:
        raise BadInput(
            "Both yards would keep their pictures in one folder; name another in STOCKYARD_PICTURES."
        )
    shapes = [archived(each) for each in Base.metadata.sorted_tables]
    moved = []
    with open_yard(place, pictures=pictures) as yard, yard.open_work(reading=True, now=now) as work:
        names = sorted(work.photos.file_names())
        with filling(target, target_pictures, revision=HEAD, pictured=bool(names)) as new:
            if new.adding is not None:
                for name in names:
                    new.adding.put(work.picture_files.read(name), name.partition(".")[2])
            for each in shapes:
                tally = TableTally()
                new.put(each, _lines(work.connection, each, tally))
                new.prove(each, tally.as_json(), place_of(source))
                moved.append(_moved(each, tally))
    return Moved(place_of(source), place_of(yard_url(target)), tuple(moved), len(names))


def _lines(connection: Connection, each: Archived, tally: TableTally) -> Iterator[str]:
    for content in text_of(connection, each, tally):
        yield from io.StringIO(content.decode(), newline="")


def _moved(each: Archived, tally: TableTally) -> MovedTable:
    money = {name for name, kind in each.columns if kind == "money"}
    sums = {name: amount for name, amount in sorted(tally.sums.items()) if name in money}
    return MovedTable(each.name, tally.rows, sums, tally.digest.hexdigest())
