"""How a table is written as plain text and read again: the same text for the same rows on every database."""

import base64
import csv
import hashlib
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Connection,
    Date,
    Double,
    LargeBinary,
    Table,
    TableClause,
    Text,
    column,
    insert,
    select,
    table,
)
from sqlalchemy.types import TypeEngine

from stockyard.records.columns import Money, UtcTime

NOTHING = r"\N"
"""What stands where there is no value; a text that begins with a backslash is written with one more."""

AT_ONCE = 2_000

_LONGEST_CELL = 2**31 - 1

_TYPES: dict[str, Callable[[], TypeEngine[Any]]] = {
    "text": Text,
    "whole": BigInteger,
    "number": Double,
    "money": Money,
    "day": Date,
    "moment": UtcTime,
    "truth": Boolean,
    "json": JSON,
    "json or nothing": lambda: JSON(none_as_null=True),
    "bytes": LargeBinary,
}
_WRITE: dict[str, Callable[[Any], str]] = {
    "text": lambda value: f"\\{value}" if value.startswith("\\") else value,
    "whole": str,
    "number": lambda value: repr(float(value)),
    "money": lambda value: f"{value:f}",
    "day": date.isoformat,
    "moment": lambda value: value.astimezone(UTC).isoformat(),
    "truth": lambda value: "true" if value else "false",
    "json": lambda value: json.dumps(value, ensure_ascii=False),
    "json or nothing": lambda value: json.dumps(value, ensure_ascii=False),
    "bytes": lambda value: base64.b64encode(value).decode("ascii"),
}
_READ: dict[str, Callable[[str], Any]] = {
    "text": lambda text: text.removeprefix("\\"),
    "whole": int,
    "number": float,
    "money": Decimal,
    "day": date.fromisoformat,
    "moment": datetime.fromisoformat,
    "truth": lambda text: text == "true",
    "json": json.loads,
    "json or nothing": json.loads,
    "bytes": lambda text: base64.b64decode(text, validate=True),
}
SUMMED = ("whole", "money")
"""Kinds whose columns are added up as a proof that is plain to see."""


@dataclass(frozen=True, slots=True)
class Archived:
    """A table as an archive describes it. columns: name and kind, in order. key: the rows' order."""

    name: str
    columns: tuple[tuple[str, str], ...]
    key: tuple[str, ...]

    @property
    def clause(self) -> TableClause:
        """The table as a database of any age knows it: names and plain types alone."""
        return table(self.name, *(column(name, _TYPES[kind]()) for name, kind in self.columns))


@dataclass(slots=True)
class TableTally:
    """What was written or read of a table: its rows, the sums of its figures, and the digest of its text."""

    rows: int = 0
    sums: dict[str, Decimal] = field(default_factory=dict)
    digest: Any = field(default_factory=hashlib.sha256)

    def as_json(self) -> dict[str, Any]:
        """As it stands in an archive's list."""
        sums = {name: f"{value:f}" for name, value in sorted(self.sums.items())}
        return {"rows": self.rows, "sums": sums, "sha256": self.digest.hexdigest()}


def archived(each: Table) -> Archived:
    """A table of the records as an archive describes it."""
    return Archived(
        each.name,
        tuple((one.name, _kind_of(one.type)) for one in each.columns),
        tuple(one.name for one in each.primary_key),
    )


def text_of(connection: Connection, each: Archived, tally: TableTally) -> Iterator[bytes]:
    """A table's rows as CSV, some at a time, tallied on the way; the first line names the columns."""
    clause = each.clause
    # By code point on both: a server's own idea of the alphabet would write another text.
    byte_order = "C" if connection.dialect.name == "postgresql" else "BINARY"
    texts = {name for name, kind in each.columns if kind == "text"}
    key = (clause.c[name].collate(byte_order) if name in texts else clause.c[name] for name in each.key)
    asked = select(*clause.c).order_by(*key)
    summed = [(place, name) for place, (name, kind) in enumerate(each.columns) if kind in SUMMED]
    writers = [_WRITE[kind] for _, kind in each.columns]
    json_null = [kind == "json" for _, kind in each.columns]
    yield _counted(tally, [[name for name, _ in each.columns]])
    for some in connection.execute(asked, execution_options={"yield_per": AT_ONCE}).partitions(AT_ONCE):
        rows = []
        for row in some:
            rows.append(
                [
                    (NOTHING if not null else "null") if value is None else write(value)
                    for value, write, null in zip(row, writers, json_null, strict=True)
                ]
            )
            for place, name in summed:
                if row[place] is not None:
                    tally.sums[name] = tally.sums.get(name, Decimal(0)) + row[place]
        tally.rows += len(rows)
        yield _counted(tally, rows)


def put_rows(connection: Connection, each: Archived, lines: Iterable[str]) -> None:
    """Insert a table's rows from its CSV. Raises ValueError where the text is not what was described."""
    # Documents and pictures in a cell are longer than the reader takes unless it is told to.
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        _put(connection, each, csv.reader(lines, strict=True))
    finally:
        csv.field_size_limit(before)


def _put(connection: Connection, each: Archived, records: Iterator[list[str]]) -> None:
    if next(records, None) != [name for name, _ in each.columns]:
        raise ValueError(f"{each.name}: the first line does not name its columns")
    readers = [(name, _READ[kind]) for name, kind in each.columns]
    clause = each.clause
    waiting: list[dict[str, Any]] = []
    for record in records:
        waiting.append(
            {
                name: None if text == NOTHING else read(text)
                for text, (name, read) in zip(record, readers, strict=True)
            }
        )
        if len(waiting) == AT_ONCE:
            connection.execute(insert(clause), waiting)
            waiting = []
    if waiting:
        connection.execute(insert(clause), waiting)


def described(listed: Mapping[str, Any], name: str) -> Archived:
    """A table from an archive's list. Raises ValueError where that is not what it should be."""
    columns = tuple((str(one["name"]), str(one["kind"])) for one in listed["columns"])
    names = {one for one, _ in columns}
    key = tuple(str(one) for one in listed["key"])
    words = (name, *names)
    if not all(word.replace("_", "").isalnum() and word.isascii() for word in words):
        raise ValueError(f"{name}: a name that no table or column has")
    if any(kind not in _TYPES for _, kind in columns) or not key or not set(key) <= names:
        raise ValueError(f"{name}: not described as a table is")
    return Archived(name, columns, key)


def _counted(tally: TableTally, rows: Iterable[list[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    content = text.getvalue().encode()
    tally.digest.update(content)
    return content


def _kind_of(kind: TypeEngine[Any]) -> str:
    if isinstance(kind, JSON):
        return "json or nothing" if kind.none_as_null else "json"
    for known, word in (
        (Money, "money"),
        (UtcTime, "moment"),
        (Boolean, "truth"),
        (BigInteger, "whole"),
        (Double, "number"),
        (Date, "day"),
        (LargeBinary, "bytes"),
    ):
        if isinstance(kind, known):
            return word
    return "text"
