"""What a database's refusals mean to the person at the bench, in one sentence with the remedy."""

import sqlite3

from sqlalchemy import URL, event
from sqlalchemy.engine import Engine, ExceptionContext
from sqlalchemy.exc import DataError

from stockyard.errors import BadInput, StockyardError, StoreUnusable


class Contended(StoreUnusable):
    """Someone else was changing the same thing; the same work tried again may well succeed."""


def translate_faults(engine: Engine) -> None:
    """From now on raise what the engine's database refuses as Stockyard's errors.

    Constraint violations are left alone: what they mean is known where the statement was made.
    """
    event.listen(engine, "handle_error", _translate, retval=True)


def _translate(context: ExceptionContext) -> BaseException | None:
    error = context.original_exception
    where = "The database" if context.engine is None else place_of(context.engine.url)
    if isinstance(error, sqlite3.Error):
        return sqlite_fault(error, where)
    if isinstance(error, (OverflowError, UnicodeEncodeError)):
        return BadInput("The database cannot hold a number or a text that was given: too large, or not text.")
    if isinstance(context.sqlalchemy_exception, DataError):
        return BadInput(f"The database cannot hold a value that was given: {_first_line(error)}.")
    if hasattr(error, "sqlstate"):
        return server_fault(error, where)
    return None


def place_of(url: URL) -> str:
    """A database as a message names it: a file's path, or a server's address without its password."""
    if url.get_backend_name() == "sqlite":
        return url.database or ":memory:"
    return url.render_as_string(hide_password=True)


def sqlite_fault(error: sqlite3.Error, where: str) -> StockyardError | None:
    """What an SQLite error means; None for what only a fault of ours can cause."""
    name = getattr(error, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return Contended(f"{where} is in use by another program; close it, or try again in a moment.")
    for prefix, sentence in _SQLITE.items():
        if name.startswith(prefix):
            return StoreUnusable(sentence.format(where=where))
    return None


_SQLITE = {
    "SQLITE_READONLY": "{where} or its folder cannot be written; make both writable, or use another.",
    "SQLITE_CANTOPEN": "{where} cannot be opened; check that its folder exists and that you may use it.",
    "SQLITE_PERM": "{where} may not be used by you; make it readable and writable.",
    "SQLITE_AUTH": "{where} may not be used by you; make it readable and writable.",
    "SQLITE_FULL": "The disk that holds {where} is full; make room and try again. Nothing was written.",
    "SQLITE_NOTADB": "{where} is not a Stockyard database; name another file with --db.",
    "SQLITE_CORRUPT": "{where} is damaged; put back your last copy of it (and keep the damaged file).",
    "SQLITE_IOERR": "The disk that holds {where} does not answer as it should; check it and its free space.",
    "SQLITE_PROTOCOL": "{where} is in use by another program; close it, or try again in a moment.",
}

_CONTENDED = frozenset(["40001", "40P01", "55P03", "57014"])  # serialisation, deadlock, lock timeout


def server_fault(error: BaseException, where: str) -> StockyardError | None:
    """What a PostgreSQL error means, by its SQLSTATE; None for what only a fault of ours can cause."""
    state = getattr(error, "sqlstate", None)
    if state is None:
        # psycopg's own operational errors carry no state: there was no server to give one.
        if type(error).__name__ in ("OperationalError", "ConnectionTimeout", "AdminShutdown"):
            return StoreUnusable(
                f"{where} does not answer ({_first_line(error)}); check that the server runs and the address."
            )
        return None
    if state in _CONTENDED:
        return Contended("Others are changing the same stock right now; try again in a moment.")
    if state == "3D000":
        return StoreUnusable(f"{where} does not exist; create the database on the server first.")
    if state.startswith(("28", "42501")):
        return StoreUnusable(f"{where} does not let you in; check the user, the password and the rights.")
    if state == "25006":
        return StoreUnusable(f"{where} can only be read at present; write to the main server.")
    if state.startswith("53"):
        return StoreUnusable(f"{where} is out of room ({_first_line(error)}); free some and try again.")
    if state.startswith(("08", "57P")):
        return StoreUnusable(f"{where} broke the connection; check that the server runs and try again.")
    return None


def _first_line(error: BaseException) -> str:
    lines = str(error).strip().splitlines()
    return lines[0].rstrip(".") if lines else type(error).__name__
