"""Read a supplier's price list: a CSV of boards that can be had, a row for each section and length."""

import csv
from decimal import Decimal
from io import StringIO

from stockyard.errors import BadInput, Fault
from stockyard.selection.answers.likely import FlawRate, Offer
from stockyard.services.problem import amount_in
from stockyard.timber import DefectKind

NEEDED = ("species", "length", "width", "thickness", "price")
ALLOWED = (*NEEDED, "supplier", "available", "moisture", "flaws")
MOST_ROWS = 500


def read_price_list(content: bytes) -> tuple[Offer, ...]:
    """The offers of a price list, in its order.

    Columns, in any order: species, length, width, thickness [mm], price [of a board]; and, where wanted,
    supplier, available, moisture [%], and flaws, such as "crack 0.8 150x4; sound knot 0.5 40x30 one face":
    kind, how many to a square metre, length x width [mm].
    Raises BadInput with every fault by row and column.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput("The price list is no text in UTF-8; save it as CSV in UTF-8.") from None
    rows = csv.DictReader(StringIO(text, newline=None))  # whatever ends a line, a lone return too
    try:
        return _offers(rows)
    except csv.Error as unreadable:
        raise BadInput(f"The price list is no CSV: {unreadable}.") from None


def _offers(rows: "csv.DictReader[str]") -> tuple[Offer, ...]:
    heads = [(name or "").strip().casefold() for name in rows.fieldnames or ()]
    faults = [Fault("heading", f"a column {name!r}") for name in NEEDED if name not in heads]
    faults += [Fault("heading", "one of " + ", ".join(ALLOWED), repr(h)) for h in heads if h not in ALLOWED]
    if faults:
        raise BadInput("The price list cannot be read.", faults)
    offers = []
    for number, row in enumerate(rows, start=2):
        cells = {
            (name or "").strip().casefold(): (cell or "").strip()
            for name, cell in row.items()
            if isinstance(cell, str) or cell is None
        }
        if any(cells.values()):
            offers.append(_offer(number, cells, faults))
    if not faults and not offers:
        faults.append(Fault("row 2", "a board that can be had"))
    if len(offers) > MOST_ROWS:
        faults.append(Fault("rows", f"at most {MOST_ROWS}", str(len(offers))))
    if faults:
        raise BadInput("The price list cannot be read.", faults)
    return tuple(offers)


def _offer(number: int, cells: dict[str, str], faults: list[Fault]) -> Offer:
    def amount(name: str, most: int, *, needed: bool = True) -> Decimal:
        cell = cells.get(name, "")
        value = amount_in(cell) if cell else None
        if (cell or needed) and (value is None or not 0 < value <= most):
            faults.append(
                Fault(f"row {number}, column {name}", f"a figure above 0, up to {most}", repr(cell))
            )
        return value or Decimal(1)

    if not cells.get("species"):
        faults.append(Fault(f"row {number}, column species", "a species"))
    available = amount("available", 10_000, needed=False)
    if available != int(available):
        faults.append(Fault(f"row {number}, column available", "a whole number", str(available)))
    return Offer(
        line=number,
        supplier=cells.get("supplier", ""),
        species=cells.get("species", ""),
        length_mm=float(amount("length", 20_000)),
        width_mm=float(amount("width", 2_000)),
        thickness_mm=float(amount("thickness", 500)),
        price=amount("price", 1_000_000),
        available=int(available) if cells.get("available") else None,
        flaws=_flaws(number, cells["flaws"], faults) if cells.get("flaws") else None,
        moisture_pct=float(amount("moisture", 200, needed=False)) if cells.get("moisture") else None,
    )


def _flaws(number: int, text: str, faults: list[Fault]) -> tuple[FlawRate, ...]:
    """Where `clear` there are none; otherwise kinds with their rates and sizes, apart by semicolons."""
    if text.casefold() == "clear":
        return ()
    found = []
    for part in text.split(";"):
        words = part.casefold().split()
        through = words[-2:] != ["one", "face"]
        words = words if through else words[:-2]
        kind = "_".join(words[:-2])
        rate = amount_in(words[-2]) if len(words) > 2 else None
        size = [amount_in(side) for side in words[-1].split("x")] if words else []
        if (
            kind not in {each.value for each in DefectKind}
            or rate is None
            or not 0 < rate <= 100
            or len(size) != 2
            or any(side is None or not 0 < side <= 5_000 for side in size)
        ):
            expected = "kind, number to a square metre, length x width, as in 'crack 0.8 150x4'"
            faults.append(Fault(f"row {number}, column flaws", expected, repr(part.strip())))
            continue
        long, wide = (float(side) for side in size if side is not None)
        found.append(FlawRate(DefectKind(kind), float(rate), long, wide, through))
    return tuple(found)
