"""A docket as it is typed in a form, and a tally's cells as they stand in a page to be mended."""

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stockyard.errors import BadInput, Fault
from stockyard.services.check_delivery import DeliveryCheck
from stockyard.services.delivery_order import WORDS
from stockyard.tally.mending import TallyCells, cells_of, mended
from stockyard.tally.tally import TallyOptions
from stockyard.web.forms import Filled

_MOST_CELLS = 1_500
"""So many cells stand in a page to be mended; of a longer tally only rows with something wrong do."""

_PLACE = re.compile(r"^row (\d+)(?:, (?:column ([A-Z]+)\b|(.+)))?")
_CELL = re.compile(r"^c-(\d{1,7})-(\d{1,3})$")


@dataclass(frozen=True, slots=True)
class Typed:
    """A tally's file and what the docket says of it. words: as `order_from` reads them."""

    name: str
    content: bytes
    words: Mapping[str, Any]

    @property
    def carried(self) -> str:
        """The file, to be carried along in a form."""
        return base64.b64encode(self.content).decode()


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the tally in a page. header: is it one of the header? faults: of the whole row."""

    number: int
    header: bool
    cells: tuple[tuple[str, tuple[Fault, ...]], ...]
    faults: tuple[Fault, ...]


def words_in(form: Filled) -> dict[str, Any]:
    """What a form says of a docket."""
    words: dict[str, Any] = {name: said for name in WORDS if (said := form.text(name))}
    columns = dict(zip(form.fields.getlist("header"), form.fields.getlist("holds"), strict=False))
    words["columns"] = {str(header): str(holds) for header, holds in columns.items() if header and holds}
    words["new_species"] = list(form.texts("new_species"))
    return words


def typed_in(form: Filled) -> Typed:
    """The tally that a form holds: uploaded, pasted, or carried along and mended. Raises BadInput."""
    words = words_in(form)
    upload, pasted = form.file("tally"), form.text("text", strip=False)
    if upload is not None:
        return Typed(upload[0], upload[1], words)
    if pasted.strip():
        return Typed(form.text("name") or "pasted.csv", pasted.encode(), words)
    carried = form.text("carried")
    if not carried:
        raise BadInput(
            "There is no tally yet.", [Fault("tally", "a file, or rows pasted from one", "nothing")]
        )
    try:
        content = base64.b64decode(carried, validate=True)
    except ValueError:
        raise BadInput("The tally was lost on its way; choose it again.") from None
    return _with_mending(Typed(form.text("name") or "tally.csv", content, words), form)


def rows_of(check: DeliveryCheck) -> tuple[tuple[Row, ...], int]:
    """The rows that stand in a page, each fault in its place, and how many others were read without one."""
    if check.cells is None:
        return (), 0
    cells, wide = check.cells, check.cells.columns
    by_role = {column.role.value: column.column for column in check.columns}
    letters = {column.column: place for place, column in enumerate(check.columns)}
    of_row: dict[int, list[Fault]] = {}
    of_cell: dict[tuple[int, int], list[Fault]] = {}
    for fault in check.faults:
        found = _PLACE.match(fault.where)
        if found is None:
            continue
        row, letter = int(found[1]), found[2] or by_role.get(found[3] or "", "")
        if letter in letters:
            of_cell.setdefault((row, letters[letter]), []).append(fault)
        else:
            of_row.setdefault(row, []).append(fault)
    first, last = cells.header_rows
    wrong = {row for row, _ in of_cell} | set(of_row)
    whole = len(cells.rows) * wide <= _MOST_CELLS
    shown = [
        (row, said) for row, said in cells.rows if whole or row in wrong or first <= row <= last
    ]  # fmt: skip
    shown = shown[: max(_MOST_CELLS // max(wide, 1), 1)]
    rows = tuple(
        Row(
            row,
            first <= row <= last,
            tuple(
                (said[place] if place < len(said) else "", tuple(of_cell.get((row, place), ())))
                for place in range(wide)
            ),
            tuple(of_row.get(row, ())),
        )
        for row, said in shown
        if any(said)
    )
    return rows, len(cells.rows) - len(shown)


def elsewhere(check: DeliveryCheck, rows: tuple[Row, ...]) -> tuple[Fault, ...]:
    """The faults that stand at no row of the page."""
    in_rows = {fault for row in rows for fault in row.faults}
    in_rows |= {fault for row in rows for _, faults in row.cells for fault in faults}
    return tuple(fault for fault in check.faults if fault not in in_rows)


def _with_mending(typed: Typed, form: Filled) -> Typed:
    """The tally with the cells that were mended in the page; as it came where none was."""
    said: dict[tuple[int, int], str] = {}
    for name in form.fields:
        found = _CELL.match(name)
        if found:
            said[int(found[1]), int(found[2])] = form.text(name)
    if not said:
        return typed
    try:
        cells = cells_of(typed.content, typed.name, TallyOptions(sheet=typed.words.get("sheet")))
    except BadInput:
        return typed
    stands = {(row, place): text for row, texts in cells.rows for place, text in enumerate(texts)}
    changes = {at: text for at, text in said.items() if " ".join(stands.get(at, "").split()) != text}
    if not changes:
        return typed
    name = (
        typed.name if typed.name.endswith(", mended.csv") else f"{typed.name.rpartition('.')[0]}, mended.csv"
    )
    return Typed(name, mended(_only(cells, changes), changes), typed.words)


def _only(cells: TallyCells, changes: Mapping[tuple[int, int], str]) -> TallyCells:
    """The cells. Raises BadInput for a change of a row that is not there."""
    there = {row for row, _ in cells.rows}
    faults = [Fault(f"row {row}", "a row of the tally") for row, _ in changes if row not in there]
    if faults:
        raise BadInput("The tally is another than the one that was mended; nothing was changed.", faults)
    return cells
