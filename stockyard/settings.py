"""From the environment and the options given to a yard that can be worked in.

STOCKYARD_DB    the yard's database, a file or a PostgreSQL URL, where --db is not given
STOCKYARD_WHO   the name written beside every change; the login name where it is not set
"""

import os
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockyard.records import OpenWork

__all__ = ["OpenWork", "open_work_on", "upgrade"]


def open_work_on(db: str | Path | None = None, now: datetime | None = None) -> "OpenWork":
    """What services ask for: opens units of work on the yard that `db` or the environment names.

    The yard is made when there is none yet. now: a fixed moment for everything done through it, aware.
    Raises StoreUnusable when the database cannot be used, and says what to do.
    """
    from stockyard.records.connect import open_yard

    yard = open_yard(db or os.environ.get("STOCKYARD_DB") or None)
    return partial(yard.open_work, who=os.environ.get("STOCKYARD_WHO", ""), now=now)


def upgrade(db: str | Path | None = None) -> Path | None:
    """Bring the yard's database up to date, making it when there is none.

    Returns the copy that was put aside of an older SQLite file, or None when nothing had to change.
    """
    from stockyard.records import migrate

    return migrate.upgrade(db or os.environ.get("STOCKYARD_DB") or None)
