"""What every command knows: which yard, who is asking, and how to answer."""

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

_LARGEST_INPUT_MB = 64


@dataclass(frozen=True, slots=True)
class Session:
    """The global options of one run."""

    db: str | None
    as_json: bool

    def open_work(self) -> "OpenWork":
        """Opens units of work on the yard these options name."""
        from stockyard.settings import open_work_on

        return open_work_on(self.db)


def session_of(context: typer.Context) -> Session:
    """The session that the root command made."""
    found: Any = context.obj
    return found if isinstance(found, Session) else Session(db=None, as_json=False)


def bytes_of(path: Path) -> bytes:
    """What an input file holds.

    Raises BadInput when it cannot be read or is too large to be what it is given as.
    """
    try:
        size = path.stat().st_size
        if size > _LARGEST_INPUT_MB * 1_000_000:
            raise BadInput(
                f"{path} is {size / 1e6:,.0f} MB; files of up to {_LARGEST_INPUT_MB} MB are read. Split it."
            )
        return path.read_bytes()
    except OSError as fault:
        raise BadInput(f"{path} cannot be read: {fault.strerror or fault}.") from None


def write_file(path: Path, content: str | bytes) -> None:
    """Put text or bytes in a file, whole or not at all.

    Raises BadInput when the place cannot be written to.
    """
    beside = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(content.encode() if isinstance(content, str) else content)
        beside.replace(path)
    except OSError as fault:
        raise BadInput(f"{path} cannot be written: {fault.strerror or fault}.") from None
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
