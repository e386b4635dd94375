"""Boards entered one after the other, before they are a delivery: a tally that grows."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from stockyard.errors import BadInput
from stockyard.measures.number import parse_number
from stockyard.measures.price import PriceUnit
from stockyard.web.forms import Filled

NAME = "entered by hand.csv"
HEADER = (
    "Species", "Length (mm)", "Width (mm)", "Thickness (mm)", "Qty", "Price", "Price unit", "Note"
)  # fmt: skip
UNITS = (PriceUnit.PIECE, PriceUnit.LINEAL_METRE, PriceUnit.M3)
"""What a price may buy while one stands at the pile; a tally may say more."""


@dataclass(frozen=True, slots=True)
class HandLine:
    """Pieces alike. Sizes as numbers in mm; price: for one price_unit, "" where none is known yet."""

    species: str
    length: str
    width: str
    thickness: str
    pieces: str
    price: str
    price_unit: str
    note: str

    @property
    def cells(self) -> tuple[str, ...]:
        """As a row of the tally."""
        return (
            self.species, self.length, self.width, self.thickness, self.pieces, self.price,
            self.price_unit if self.price else "", self.note,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class HandTotals:
    """What the lines come to so far. money: of those with a price."""

    pieces: int
    volume_mm3: Decimal
    run_mm: Decimal
    money: Decimal


def lines_in(text: str) -> list[HandLine]:
    """The lines of a tally entered by hand; what is no line of it is left out. Raises BadInput for no CSV."""
    try:
        rows = list(csv.reader(io.StringIO(text, newline=None)))
    except csv.Error as unreadable:
        raise BadInput(f"The lines entered cannot be read: {unreadable}.") from None
    return [HandLine(*row) for row in rows if len(row) == len(HEADER) and tuple(row) != HEADER]


def as_tally(lines: Sequence[HandLine]) -> str:
    """The lines as a tally."""
    kept = io.StringIO()
    writer = csv.writer(kept, lineterminator="\n")
    writer.writerow(HEADER)
    writer.writerows(line.cells for line in lines)
    return kept.getvalue()


def line_in(form: Filled) -> HandLine:
    """The line that a form holds. Raises BadInput with everything wrong with it."""
    sizes = [form.length_mm(name, required=True) for name in ("length", "width", "thickness")]
    pieces = form.whole("pieces", required=True)
    price = form.amount("price")
    unit = form.choice("price_unit", [unit.value for unit in UNITS]) or PriceUnit.PIECE.value
    species = form.text("species", required=True)
    form.check("The board was not added.")
    length, width, thickness = (f"{round(size or 0, 2):g}" for size in sizes)
    return HandLine(
        species, length, width, thickness, str(pieces), "" if price is None else f"{price:f}", unit,
        form.text("note")[:300],
    )  # fmt: skip


def totals_of(lines: Sequence[HandLine]) -> HandTotals:
    """What the lines come to."""
    pieces, volume, run, money = 0, Decimal(0), Decimal(0), Decimal(0)
    for line in lines:
        count = int(line.pieces)
        length, width, thickness = (Decimal(size) for size in (line.length, line.width, line.thickness))
        of_one = {
            PriceUnit.PIECE.value: Decimal(1),
            PriceUnit.LINEAL_METRE.value: length / 1000,
            PriceUnit.M3.value: length * width * thickness / 10**9,
        }
        pieces += count
        volume += count * length * width * thickness
        run += count * length
        if line.price:
            money += count * of_one[line.price_unit] * parse_number(line.price, where="price")
    return HandTotals(pieces, volume, run, money.quantize(Decimal("0.01")))
