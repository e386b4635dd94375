"""The yard's records: SQLite on one laptop, PostgreSQL for several people, the same code.

    with open_yard("yard.db") as yard, yard.open_work(who="the maker") as work:
        board = work.pieces.get("SG-0017")
        work.commit()

Everything done in one unit of work is written together or not at all, and forgotten unless it is told to
commit. Repositories take and give frozen values of `timber`; no row leaves this room. History is only ever
appended to, and the database itself refuses to change the ledger.
"""

from stockyard.records.connect import OpenWork, Yard, default_path, open_yard, yard_url
from stockyard.records.faults import Contended
from stockyard.records.migrate import needs_upgrade, upgrade
from stockyard.records.retry import retried
from stockyard.records.unit_of_work import UnitOfWork

__all__ = [
    "Contended",
    "OpenWork",
    "UnitOfWork",
    "Yard",
    "default_path",
    "needs_upgrade",
    "open_yard",
    "retried",
    "upgrade",
    "yard_url",
]
