"""A tally's cells as text, to be looked at and mended, and written down again with each row where it was."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.tally.header import chosen
from stockyard.tally.read import sheets_in
from stockyard.tally.sheet import shown
from stockyard.tally.tally import TallyOptions


@dataclass(frozen=True, slots=True)
class TallyCells:
    """What a tally's sheet says, cell by cell. rows: each with its number in the file, 1 first.

    header_rows: numbers of the first and the last row of the header.
    """

    rows: tuple[tuple[int, tuple[str, ...]], ...]
    header_rows: tuple[int, int]

    @property
    def columns(self) -> int:
        """How many cells the longest row has."""
        return max((len(cells) for _, cells in self.rows), default=0)


def cells_of(content: bytes, name: str, options: TallyOptions | None = None) -> TallyCells:
    """The cells of the sheet that a tally is read from. Raises BadInput as `read_tally` does."""
    options = options or TallyOptions()
    sheet, header = chosen(sheets_in(content, name, options), options.columns, name)
    rows = tuple((row, tuple(shown(cell) for cell in cells)) for row, cells in sheet.rows)
    return TallyCells(rows, (sheet.rows[header.first][0], sheet.rows[header.last][0]))


def mended(cells: TallyCells, changes: Mapping[tuple[int, int], str]) -> bytes:
    """The tally as CSV with some cells changed. changes: (row number, column from 0) -> text.

    Every row keeps its number, so that a fault that was told stays where it was.
    """
    kept = io.StringIO()
    writer = csv.writer(kept, lineterminator="\n")
    line = 1
    for row, said in cells.rows:
        while line < row:
            kept.write("\n")
            line += 1
        whole = [" ".join(cell.split()) for cell in _changed(row, said, changes)]
        if any(whole):
            writer.writerow(whole)
        else:
            kept.write("\n")
        line += 1
    return kept.getvalue().encode()


def _changed(row: int, said: Sequence[str], changes: Mapping[tuple[int, int], str]) -> list[str]:
    own = {column: text for (at, column), text in changes.items() if at == row}
    wide = max(len(said), *(column + 1 for column in own)) if own else len(said)
    return [own.get(column, said[column] if column < len(said) else "") for column in range(wide)]
