"""A tally's bytes read into a Tally."""

from collections.abc import Iterable
from decimal import Decimal

from stockyard.errors import BadInput, Fault
from stockyard.measures.money_text import check_currency
from stockyard.measures.price import PriceUnit
from stockyard.tally.archive import looks_packed, refuse_foreign
from stockyard.tally.cells import SIZES
from stockyard.tally.columns import Columns, take_columns
from stockyard.tally.header import Header, chosen
from stockyard.tally.lines import LineMaker
from stockyard.tally.rows import Kind, row_teller, row_text
from stockyard.tally.sheet import MAX_BYTES, Cell, Sheet
from stockyard.tally.tally import Role, SkippedRow, Tally, TallyLine, TallyOptions
from stockyard.tally.text_file import text_sheets
from stockyard.tally.totals import Totals
from stockyard.tally.workbook import workbook_sheets

MAX_PIECES = 200_000
"""Of one tally. A container holds a few thousand boards."""

_WHY = {
    Kind.BLANK: "blank",
    Kind.TOTAL: "total, checked and not booked",
    Kind.HEADING: "heading of the lines below it",
    Kind.CHARGE: "charge, no timber; give it as a charge of the delivery",
    Kind.HEADER_AGAIN: "the header once more",
    Kind.TEXT: "words, no line",
}


def read_tally(content: bytes, name: str, options: TallyOptions | None = None) -> Tally:
    """What a supplier's tally says, with all that is wrong with it in `faults`.

    content: the file, CSV (comma, semicolon, tab or bar; UTF-8, UTF-16 or Windows-1252) or .xlsx; told apart
    by what is in it. name: the file's, for messages.
    Raises BadInput when the file as a whole cannot be read: no tally, broken, locked, too big, a trap, no
    header that is understood, or options that make no sense. What is wrong in its rows does not raise; see
    `Tally.sound`.
    """
    options = options or TallyOptions()
    _check_options(options)
    if not content.strip(b"\x00 \t\r\n"):
        raise BadInput(f"{name} is empty.")
    if len(content) > MAX_BYTES:
        raise BadInput(
            f"{name} is larger than {MAX_BYTES // 2**20} MB; a tally of ten thousand rows is about one."
        )
    sheet, header = chosen(sheets_in(content, name, options), options.columns, name)
    columns = take_columns(sheet, header, options)
    mark = options.decimal_mark or columns.decimal_mark()
    maker = LineMaker(columns, options, mark)
    lines, skipped, totals = _read_rows(sheet, header, maker)
    faults = [*columns.faults, *maker.faults]
    lot_total = _lot_total(lines, totals, options, faults) if lines and not faults else options.lot_total
    if not lines and not faults:
        faults.append(Fault(name, "at least one line of timber below the header"))
    if sum(line.quantity for line in lines) > MAX_PIECES:
        faults.append(Fault(name, f"at most {MAX_PIECES:,} pieces in one tally"))
    return Tally(
        name=name,
        sheet=sheet.name,
        currency=options.currency,
        header_row=sheet.rows[header.last][0],
        columns=tuple(columns.taken),
        lines=tuple(lines),
        skipped=tuple(skipped),
        faults=tuple(dict.fromkeys(faults)),
        warnings=tuple(dict.fromkeys(maker.warnings)),
        preamble=tuple(text for _, cells in sheet.rows[: header.first] if (text := row_text(cells))),
        lot_total=lot_total,
        tax_included=_tax_included(columns, options),
        decimal_mark=mark,
        measure=options.measure,
        sizes=options.sizes,
        shrinkage_pct=options.shrinkage_pct,
    )


def sheets_in(content: bytes, name: str, options: TallyOptions) -> list[Sheet]:
    """The sheets a file may be read as. Raises BadInput for what is no tally, broken, locked or a trap."""
    refuse_foreign(content, name)
    if looks_packed(content):
        return workbook_sheets(content, name, options.sheet)
    return text_sheets(content, name)


def _check_options(options: TallyOptions) -> None:
    check_currency(options.currency)
    faults = []
    for what, amount in (("price", options.price), ("lot total", options.lot_total)):
        if amount is not None and (not amount.is_finite() or amount < 0):
            faults.append(Fault(what, "0 or more", str(amount)))
    if options.price is not None and options.lot_total is not None:
        faults.append(Fault("price", "a price or a lot total, not both"))
    if not (options.shrinkage_pct.is_finite() and 0 <= options.shrinkage_pct < 50):
        faults.append(Fault("shrinkage", "0 to below 50 percent", str(options.shrinkage_pct)))
    thickness = options.thickness_mm
    if thickness is not None and not (thickness.is_finite() and 1 <= thickness <= 600):
        faults.append(Fault("thickness", "1 to 600 mm", str(thickness)))
    if faults:
        raise BadInput("What was said about the tally makes no sense.", faults)


def _read_rows(
    sheet: Sheet, header: Header, maker: LineMaker
) -> tuple[list[TallyLine], list[SkippedRow], Totals]:
    tell = row_teller(maker.columns, header)
    totals = Totals(maker)
    lines: list[TallyLine] = []
    skipped: list[SkippedRow] = []
    wide = len(header.texts)
    if header.first > 0:
        above, cells = sheet.rows[header.first - 1]
        if len(set(cells) - {""}) == 1 and SIZES.search(row_text(cells)):
            # A title such as "Oak 200 x 50 mm" right above the header is a heading all the same.
            maker.take_heading(row_text(cells), above)
    for place, (row, cells) in enumerate(sheet.rows[header.last + 1 :]):
        kind = tell(cells)
        if kind is Kind.LINE:
            if len(cells) > wide and any(cell != "" for cell in cells[wide:]):
                maker.faults.append(_too_many(row, cells, wide, sheet))
                continue
            line = maker.line(place, row)
            if line is not None:
                lines.append(line)
                totals.add(line, place)
            continue
        skipped.append(SkippedRow(row, _WHY[kind], row_text(cells)))
        if kind is Kind.HEADING:
            maker.take_heading(row_text(cells[:wide]), row)
        elif kind is Kind.TOTAL:
            totals.check(place, row)
        elif kind is Kind.CHARGE:
            totals.charge(place)
            maker.warnings.append(
                Fault(f"row {row}", "charges given beside the tally, not in it", row_text(cells))
            )
    return lines, skipped, totals


def _too_many(row: int, cells: tuple[Cell, ...], wide: int, sheet: Sheet) -> Fault:
    hint = "; is a decimal comma parting cells?" if sheet.from_text else ""
    return Fault(
        f"row {row}", f"at most {wide} cells, as many as the header has{hint}", f"{len(cells)} cells"
    )


def _lot_total(
    lines: Iterable[TallyLine], totals: Totals, options: TallyOptions, faults: list[Fault]
) -> Decimal | None:
    """The money for everything, where lines have none; otherwise every line must have some."""
    priced = [line for line in lines if line.purchase is not None]
    bare = [line for line in lines if line.purchase is None]
    if options.lot_total is not None:
        if priced:
            faults.append(Fault("lot total", "no lot total, since lines have prices of their own"))
        return options.lot_total
    if not bare:
        return None
    if not priced:
        for_lot = {line.price for line in bare if line.price_unit is PriceUnit.LOT}
        if len(for_lot) == 1:
            return for_lot.pop()
        if totals.lot_total is not None:
            return totals.lot_total
        faults.append(
            Fault("prices", "a price or an amount for each line, or a price or total for the whole sheet")
        )
        return None
    faults += [Fault(f"row {line.row}", "a price or an amount, as other lines have") for line in bare]
    return None


def _tax_included(columns: Columns, options: TallyOptions) -> bool | None:
    if options.tax_included is not None:
        return options.tax_included
    sides = {
        column.heading.tax
        for role in (Role.PRICE, Role.AMOUNT)
        for column in columns.by_role.get(role, ())
        if column.heading.role is role
    } - {None}
    return sides.pop() if len(sides) == 1 else None
