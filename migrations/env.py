"""Alembic's entrance: migrates the connection it is handed, or the yard that STOCKYARD_DB names."""

import os
from typing import Any, Literal

from alembic import context
from sqlalchemy import Connection, TypeDecorator

from stockyard.records.connect import connect, yard_url
from stockyard.records.tables import Base


def plain(kind: str, thing: Any, _: Any) -> str | Literal[False]:
    """A column's type as the database knows it: a migration must not change when our types do."""
    return f"sa.{thing.impl!r}" if kind == "type" and isinstance(thing, TypeDecorator) else False


def run(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=True,
        render_item=plain,
        transaction_per_migration=False,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    engine = connect(yard_url(os.environ.get("STOCKYARD_DB")), foreign_keys=False)
    with engine.begin() as connection:
        run(connection)
    engine.dispose()
