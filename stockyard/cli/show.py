"""How answers look: tables that fit 80 columns, JSON for scripts, errors on the other stream."""

import json
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from decimal import Decimal

from stockyard.errors import BadInput, StockyardError
from stockyard.measures.plain import plain

Row = Sequence[object]


COLUMNS = 80
"""How wide to write where there is no terminal: what a script's log or a printed page shows."""


def say(text: str = "") -> None:
    """Print text, wrapped where a line is too long; what it is set in by stays its indent."""
    for line in text.split("\n"):
        indent = line[: len(line) - len(line.lstrip())]
        fits = len(line.rstrip()) <= _width()
        wrapped = (
            line
            if fits
            else textwrap.fill(
                line.strip(),
                _width(),
                initial_indent=indent,
                subsequent_indent=indent,
                break_long_words=False,
                break_on_hyphens=False,
            )
        )
        sys.stdout.write(wrapped + "\n")


def say_json(value: object) -> None:
    """Print a value as JSON, two spaces to a level."""
    sys.stdout.write(json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def table(columns: Sequence[str], rows: Iterable[Row], title: str = "") -> None:
    """Print a table. A column whose name starts with ">" is set to the right, as figures are."""
    from rich import box
    from rich.console import Console
    from rich.table import Table

    console = Console(width=_width(), highlight=False, markup=False, emoji=False)
    drawn = Table(
        title=title or None, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0)
    )
    for name in columns:
        right = name.startswith(">")
        drawn.add_column(name.removeprefix(">"), justify="right" if right else "left", no_wrap=right)
    for row in rows:
        drawn.add_row(*(_cell(value) for value in row))
    console.print(drawn)


def millimetres(value: float) -> str:
    """A length as a person reads it: 2400 or 177.8."""
    return f"{value:.1f}".removesuffix(".0")


def size(length_mm: float, width_mm: float, thickness_mm: float) -> str:
    """A board's size as the trade writes it."""
    return " x ".join(millimetres(value) for value in (length_mm, width_mm, thickness_mm))


def complain(error: StockyardError, as_json: bool) -> None:
    """Print an error where errors go, every fault it carries on a line of its own."""
    if as_json:
        faults = error.faults if isinstance(error, BadInput) else ()
        told = {"error": error.message, "faults": plain(faults)}
        sys.stderr.write(json.dumps(told, ensure_ascii=False) + "\n")
    else:
        sys.stderr.write(f"{error}\n")


def _width() -> int:
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else COLUMNS


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value:,}"
    if isinstance(value, float):
        return millimetres(value)
    return str(value)
