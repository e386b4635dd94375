"""What two people doing the same thing at once can trust: running counts, and adding a name once."""

from typing import Any

from sqlalchemy import Connection

from stockyard.records.tables import Base, CountRow


def next_numbers(connection: Connection, series: str, count: int = 1) -> int:
    """Take the next `count` numbers of a series, starting at 1, and return the first of them.

    The count's row is held until the transaction ends, so a number is never given twice, and one that is
    rolled back is given again.
    """
    taken = _insert(connection, CountRow).values(series=series, last=count)
    raised = taken.on_conflict_do_update(
        index_elements=[CountRow.series], set_={"last": CountRow.last + count}
    )
    last: int = connection.execute(raised.returning(CountRow.last)).scalar_one()
    return last - count + 1


def add_once(connection: Connection, table: type[Base], key: str, row: dict[str, Any]) -> None:
    """Add a row unless one with the same `key` is there, or is being added by someone else just now."""
    connection.execute(_insert(connection, table).values(row).on_conflict_do_nothing(index_elements=[key]))


def _insert(connection: Connection, table: type[Base]) -> Any:
    """An INSERT that can say what to do about a conflict; PostgreSQL's is loaded only where it is used."""
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects import postgresql

        return postgresql.insert(table)
    from sqlalchemy.dialects import sqlite

    return sqlite.insert(table)
