"""What a tally is once it has been read: its lines, what its columns were taken for, what is wrong."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from stockyard.errors import BadInput, Fault
from stockyard.measures.length import LengthUnit
from stockyard.measures.number import DecimalMark
from stockyard.measures.price import PriceUnit
from stockyard.measures.volume import volume_mm3
from stockyard.timber.delivery import Measure

__all__ = ["ColumnTaken", "Measure", "Role", "SkippedRow", "Tally", "TallyLine", "TallyOptions"]


class Role(StrEnum):
    """What a column of a tally holds."""

    LENGTH = "length"
    WIDTH = "width"
    THICKNESS = "thickness"
    SECTION = "section"
    SIZE = "length, width and thickness"
    QUANTITY = "pieces"
    LINEAL_METRES = "lineal metres"
    VOLUME = "volume"
    PRICE = "price"
    PRICE_UNIT = "price unit"
    AMOUNT = "amount"
    TAX = "tax"
    SPECIES = "species"
    GRADE = "grade"
    MARK = "supplier's mark"
    PACK = "pack"
    MOISTURE = "moisture"
    PLACE = "place"
    NOTE = "note"
    DEFECTS = "defects in words"
    DESCRIPTION = "description"
    ORIGIN = "origin"
    CLAIM = "claim"
    CERTIFICATE = "certificate"
    ROW_NUMBER = "row number"
    IGNORED = "ignored"


@dataclass(frozen=True, slots=True)
class TallyOptions:
    """What a person says about a tally, where the tally does not say it itself.

    unit: of sizes that neither their header nor their cell gives a unit for. decimal_mark: the sheet's;
    None finds it from the sheet. sheet: which one of a workbook; None takes the one that looks like a tally.
    columns: header text -> role, before the synonyms are asked. species, thickness_mm: of every line, where
    there is no such column. price, price_unit: of every line, where the sheet has no price, or does not say
    what its price buys. lot_total: the money for everything, shared over the pieces by volume.
    tax_included: whether the sheet's money has tax in it; None takes the headers' word.
    measure: which footage the sheet's volumes and prices per volume or area are of. sizes: when the widths
    on the sheet were measured; gross widths are booked less the shrinkage. shrinkage_pct: width lost in
    drying, 0 <= it < 50; 7 is the usual figure (woodweb.com, "Net measure vs gross measure").
    trust_amounts: book the sheet's amount where it does not follow from price and size, with a warning.
    """

    currency: str = "AUD"
    unit: LengthUnit | None = None
    decimal_mark: DecimalMark | None = None
    sheet: str | None = None
    columns: Mapping[str, Role] = field(default_factory=dict)
    species: str | None = None
    thickness_mm: Decimal | None = None
    price: Decimal | None = None
    price_unit: PriceUnit | None = None
    lot_total: Decimal | None = None
    tax_included: bool | None = None
    measure: Measure = Measure.NET
    sizes: Measure = Measure.NET
    shrinkage_pct: Decimal = Decimal(7)
    trust_amounts: bool = False


@dataclass(frozen=True, slots=True)
class ColumnTaken:
    """What one column was taken for. unit: of its bare numbers, such as "mm" or "AUD per m3", or ""."""

    column: str
    header: str
    role: Role
    unit: str = ""


@dataclass(frozen=True, slots=True)
class SkippedRow:
    """A row that is no line, and why: blank, a total (checked), a repeated header, text above the header."""

    row: int
    why: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class TallyLine:
    """Pieces alike, as one row of the tally states them.

    row: of the sheet or text file, 1 first. Sizes are net, exact, in mm, and are what is booked.
    species: as written. price: for one price_unit, None in a lot. amount: the row's money as printed.
    purchase: the row's money, exact: the amount where printed, else what price and sizes come to; None in
    a lot. length_is_mean: the row gives only lineal metres and a count, so each piece wants measuring.
    note: remarks and defects in the supplier's words.
    """

    row: int
    quantity: int
    length_mm: Decimal
    width_mm: Decimal
    thickness_mm: Decimal
    species: str
    price: Decimal | None = None
    price_unit: PriceUnit | None = None
    amount: Decimal | None = None
    purchase: Fraction | None = None
    mark: str = ""
    pack: str = ""
    grade: str = ""
    moisture_pct: Decimal | None = None
    place: str = ""
    note: str = ""
    origin: str = ""
    claim: str = ""
    certificate: str = ""
    length_is_mean: bool = False

    @property
    def piece_mm3(self) -> Decimal:
        """Net volume of one piece. [mm3, exact]"""
        return volume_mm3(self.length_mm, self.width_mm, self.thickness_mm)


@dataclass(frozen=True, slots=True)
class Tally:
    """A supplier's tally as read. Nothing of it may be booked while `faults` is not empty.

    name, sheet: where it was read from. header_row: 1 first. preamble: the text above the header, row by row.
    columns: all of them, taken or not. warnings: worth a look, but no hindrance.
    lot_total: the money for everything where the lines have no prices. tax_included: whether the money has
    tax in it, None where nothing says. decimal_mark: the one the sheet was found to use, None where it
    never mattered.
    """

    name: str
    sheet: str
    currency: str
    header_row: int
    columns: tuple[ColumnTaken, ...]
    lines: tuple[TallyLine, ...]
    skipped: tuple[SkippedRow, ...]
    faults: tuple[Fault, ...]
    warnings: tuple[Fault, ...]
    preamble: tuple[str, ...] = ()
    lot_total: Decimal | None = None
    tax_included: bool | None = None
    decimal_mark: DecimalMark | None = None
    measure: Measure = Measure.NET
    sizes: Measure = Measure.NET
    shrinkage_pct: Decimal = Decimal(7)

    @property
    def pieces(self) -> int:
        """How many pieces would be booked."""
        return sum(line.quantity for line in self.lines)

    @property
    def volume_mm3(self) -> Decimal:
        """Net volume of them all. [mm3]"""
        return sum((line.piece_mm3 * line.quantity for line in self.lines), Decimal(0))

    def sound(self) -> "Tally":
        """This tally itself when nothing is wrong with it.

        Raises BadInput with every fault otherwise.
        """
        if self.faults:
            count = len(self.faults)
            raise BadInput(
                f"{self.name} cannot be booked: {count} thing{'s' if count != 1 else ''} to put right.",
                self.faults,
            )
        return self
