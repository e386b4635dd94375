"""A sheet of cells, whatever file it came from, and how big one may be."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from stockyard.errors import BadInput

MAX_BYTES = 32 * 1024 * 1024
"""Of the file itself. Ten thousand rows are about 1 MB."""

MAX_ROWS = 100_000
MAX_COLUMNS = 256
MAX_CELLS = 2_000_000


@dataclass(frozen=True, slots=True)
class Uncomputed:
    """A formula whose value the file does not hold."""

    formula: str


@dataclass(frozen=True, slots=True)
class Broken:
    """A cell that holds an error of the spreadsheet, such as #REF!."""

    error: str


Cell = str | Decimal | date | Uncomputed | Broken
"""Text ("" when empty), a number as the file holds it, a day, or what is wrong with a formula."""


@dataclass(slots=True)
class Sheet:
    """Rows of cells with the number each row has in the file, 1 first. Rows may differ in length.

    from_text: whether all cells are text, as in a CSV file.
    """

    name: str
    rows: list[tuple[int, tuple[Cell, ...]]] = field(default_factory=list)
    from_text: bool = False


def check_size(rows: int, columns: int, cells: int, name: str) -> None:
    """Nothing when a sheet of that size may be read.

    Raises BadInput otherwise, in a sentence.
    """
    if rows > MAX_ROWS:
        raise BadInput(f"{name} has more than {MAX_ROWS:,} rows; split it into smaller tallies.")
    if columns > MAX_COLUMNS:
        raise BadInput(
            f"{name} has more than {MAX_COLUMNS} columns; remove those that are no part of a tally."
        )
    if cells > MAX_CELLS:
        raise BadInput(f"{name} has more than {MAX_CELLS:,} cells; split it into smaller tallies.")


def column_letter(index: int) -> str:
    """What a spreadsheet calls a column: 0 is A, 26 is AA."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def shown(cell: Cell) -> str:
    """A cell as a person sees it, for messages and notes."""
    if isinstance(cell, Uncomputed):
        return f"the formula {cell.formula[:40]} without a value"
    if isinstance(cell, Broken):
        return cell.error
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return cell if isinstance(cell, str) else cell.isoformat()
