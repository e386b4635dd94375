"""What two people doing the same thing at once can trust: running counts, and adding a name once."""

from typing import Any

from sqlalchemy import Connection
from sqlalchemy.dialects import postgresql, sqlite

from stockyard.records.tables import Base, CountRow


def next_numbers(connection: Connection, series: str, count: int = 1) -> int:
    """Take the next `count` numbers of a series, starting at 1, and return the first of them.

    The count's row is held until the transaction ends, so a number is never given twice, and one that is
    rolled back is given again.
    """
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    taken = dialect.insert(CountRow).values(series=series, last=count)
    raised = taken.on_conflict_do_update(
        index_elements=[CountRow.series], set_={"last": CountRow.last + count}
    )
    last: int = connection.execute(raised.returning(CountRow.last)).scalar_one()
    return last - count + 1


def add_once(connection: Connection, table: type[Base], key: str, row: dict[str, Any]) -> None:
    """Add a row unless one with the same `key` is there, or is being added by someone else just now."""
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    connection.execute(dialect.insert(table).values(row).on_conflict_do_nothing(index_elements=[key]))
