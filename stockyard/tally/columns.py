"""Which column is taken for what, once the cells below the headers have had their say."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from stockyard.errors import Fault
from stockyard.measures.length import LengthUnit
from stockyard.measures.number import DecimalMark
from stockyard.measures.price import PriceUnit
from stockyard.tally.cells import decimal_mark_shown
from stockyard.tally.header import Header, Heading, unit_in_preamble
from stockyard.tally.header_words import DITTO
from stockyard.tally.sheet import Cell, Sheet, column_letter
from stockyard.tally.tally import ColumnTaken, Role, TallyOptions

SIZES = (Role.LENGTH, Role.WIDTH, Role.THICKNESS, Role.SECTION, Role.SIZE)
WORDS = (
    Role.SPECIES, Role.GRADE, Role.MARK, Role.PACK, Role.PLACE, Role.NOTE, Role.DEFECTS, Role.DESCRIPTION,
    Role.ORIGIN, Role.CLAIM, Role.CERTIFICATE,
)  # fmt: skip
_FIGURES = (*SIZES, Role.LINEAL_METRES, Role.VOLUME, Role.PRICE, Role.AMOUNT, Role.MOISTURE)
_MANY = frozenset({Role.NOTE, Role.DEFECTS, Role.VOLUME, Role.TAX, Role.IGNORED, Role.ROW_NUMBER})
_REPEATED = frozenset(
    {*SIZES, Role.SPECIES, Role.GRADE, Role.PACK, Role.PLACE, Role.PRICE, Role.PRICE_UNIT, Role.ORIGIN,
     Role.CLAIM, Role.CERTIFICATE}
)  # fmt: skip


@dataclass(slots=True)
class Column:
    """A column that is used: its place, its header and the cells below it."""

    index: int
    text: str
    heading: Heading
    cells: list[Cell]

    @property
    def where(self) -> str:
        """As a person finds it."""
        return f"column {column_letter(self.index)} ({self.text})"


@dataclass(slots=True)
class Columns:
    """All columns by role, what each was taken for, and what is wrong with the headers."""

    by_role: dict[Role, list[Column]] = field(default_factory=dict)
    taken: list[ColumnTaken] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unit: LengthUnit | None = None

    def one(self, role: Role) -> Column | None:
        """The column of that role, where there is one."""
        found = self.by_role.get(role)
        return found[0] if found else None

    def decimal_mark(self) -> DecimalMark | None:
        """The decimal mark that the cells of figures plainly use."""
        return decimal_mark_shown(
            cell for role in _FIGURES for column in self.by_role.get(role, ()) for cell in column.cells
        )


def take_columns(sheet: Sheet, header: Header, options: TallyOptions) -> Columns:
    """Give every column a role, settle those that could be two things, and find what is missing."""
    body = sheet.rows[header.last + 1 :]
    wide = len(header.texts)
    columns = Columns(unit=options.unit or unit_in_preamble(sheet, header))
    padded = [cells if len(cells) >= wide else cells + ("",) * (wide - len(cells)) for _, cells in body]
    by_index: list[list[Cell]] = [
        list(each) for each in zip(*(cells[:wide] for cells in padded), strict=True)
    ]
    by_index = by_index or [[] for _ in range(wide)]
    found = [
        Column(index, header.texts[index], heading, by_index[index])
        for index, heading in enumerate(header.headings)
        if heading is not None
    ]
    found = _counts_or_rows(found)
    found = _one_side_of_the_tax(found, options)
    for column in found:
        others = columns.by_role.setdefault(column.heading.role, [])
        if others and column.heading.role not in _MANY:
            if column.heading.role is Role.PRICE and column.heading.measure != others[0].heading.measure:
                # The same price told per another unit: the first is charged, both are shown.
                column.heading = replace(column.heading, role=Role.IGNORED)
            elif column.heading.role in WORDS:
                column.heading = replace(column.heading, role=Role.NOTE)
                columns.by_role.setdefault(Role.NOTE, []).append(column)
            else:
                columns.faults.append(
                    Fault(
                        f"{others[0].where} and {column.where}",
                        f"one column for {column.heading.role}; say what the other is, or that it is ignored",
                    )
                )
                continue
        else:
            others.append(column)
    for column in found:
        if column.heading.role in _REPEATED:
            _spread_dittos(column)
    _show(columns, header, options, found)
    _find_missing(columns, header, options, sheet.rows[header.last][0])
    return columns


def _counts_or_rows(found: list[Column]) -> list[Column]:
    """A column "No." counts pieces, unless something else does or it counts the rows themselves."""
    counted = any(c.heading.role is Role.QUANTITY and not c.heading.maybe_row_number for c in found)
    for column in found:
        if column.heading.maybe_row_number:
            figures = [str(cell) for cell in column.cells if cell != ""]
            in_order = len(figures) > 1 and all(
                figure.rstrip(".") == str(place) for place, figure in enumerate(figures[:5], 1)
            )
            if counted or in_order or column.heading.role is Role.ROW_NUMBER:
                column.heading = replace(column.heading, role=Role.ROW_NUMBER)
    return found


def _one_side_of_the_tax(found: list[Column], options: TallyOptions) -> list[Column]:
    """Where the money stands both with and without tax, keep the side that was asked for, or without."""
    money = [column for column in found if column.heading.role in (Role.PRICE, Role.AMOUNT)]
    sides = {column.heading.tax for column in money} - {None}
    if len(sides) < 2 and not (
        options.tax_included is not None and sides and options.tax_included not in sides
    ):
        return found
    kept = options.tax_included or False
    for column in money:
        if column.heading.tax is not None and column.heading.tax is not kept:
            column.heading = replace(column.heading, role=Role.IGNORED)
    return found


def _spread_dittos(column: Column) -> None:
    if not any(isinstance(cell, str) and cell.lower() in DITTO for cell in set(column.cells)):
        return
    last: Cell = ""
    for place, cell in enumerate(column.cells):
        if isinstance(cell, str) and cell.lower() in DITTO:
            column.cells[place] = last
        elif cell != "":
            last = cell


def _show(columns: Columns, header: Header, options: TallyOptions, found: Sequence[Column]) -> None:
    by_index = {column.index: column for column in found}
    for index, text in enumerate(header.texts):
        column = by_index.get(index)
        if column is None:
            if text:
                columns.taken.append(ColumnTaken(column_letter(index), text, Role.IGNORED))
            continue
        heading = column.heading
        unit = ""
        if heading.role in SIZES:
            unit = str(heading.unit or columns.unit or "")
        elif heading.role is Role.LINEAL_METRES:
            unit = str(heading.unit or LengthUnit.M)
        elif heading.role is Role.PRICE:
            measure = heading.measure or options.price_unit
            unit = f"{options.currency} per {measure}" if measure else options.currency
        elif heading.role is Role.AMOUNT:
            unit = options.currency
        elif heading.role is Role.VOLUME:
            unit = (
                str(heading.measure or PriceUnit.M3)
                + {True: " each", False: " in all", None: ""}[heading.each]
            )
        columns.taken.append(ColumnTaken(column_letter(index), text, heading.role, unit))


def _find_missing(columns: Columns, header: Header, options: TallyOptions, row: int) -> None:
    """One fault for each size that no column can give, instead of one for every line."""
    roles = set(columns.by_role)
    said = ", ".join(text for text in header.texts if text)[:200]
    loose = bool(roles & {Role.SIZE, Role.DESCRIPTION, Role.SECTION})
    run = {Role.LINEAL_METRES, Role.QUANTITY} <= roles
    wanting = []
    if Role.LINEAL_METRES in roles and not run and not roles & {Role.LENGTH, Role.SIZE, Role.DESCRIPTION}:
        wanting.append("the length, or the count of pieces that the lineal metres are of")
    elif not (Role.LENGTH in roles or run or loose):
        wanting.append("the length")
    # Headings between the lines may give the section, so its lack is found line by line.
    if Role.WIDTH not in roles and Role.THICKNESS in roles and not loose:
        wanting.append("the width")
    if Role.THICKNESS not in roles and Role.WIDTH in roles and options.thickness_mm is None and not loose:
        wanting.append("the thickness")
    columns.faults += [Fault(f"header in row {row}", f"a column for {size}", said) for size in wanting]
