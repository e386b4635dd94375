"""Lines put together from their row's cells, with every fault found on the way."""

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from typing import Any

from stockyard.errors import Fault
from stockyard.measures.length import EXACT, Dimension, LengthUnit
from stockyard.measures.number import DecimalMark
from stockyard.measures.price import PriceUnit
from stockyard.tally import cells as read
from stockyard.tally.amounts import (
    Sized,
    amount_fits,
    run_meant,
    surface_volume,
    thicker_than_wide,
    volume_fits,
)
from stockyard.tally.cells import Priced, Printed, Problem, Section, read_cells
from stockyard.tally.columns import WORDS, Column, Columns
from stockyard.tally.sheet import shown
from stockyard.tally.tally import Measure, Role, TallyLine, TallyOptions

_DIMENSIONS = {
    Role.LENGTH: Dimension.LENGTH,
    Role.WIDTH: Dimension.WIDTH,
    Role.THICKNESS: Dimension.THICKNESS,
}
_MEAN_LENGTH_STEP_MM = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Read:
    """A column, its cells' values from top to bottom, and whether any of them is a Problem."""

    column: Column
    values: list[Any]
    troubled: bool


@dataclass(slots=True)
class Heading:
    """What a heading between the lines says of those that follow it."""

    species: str = ""
    section: Section | None = None
    faulty: bool = False


@dataclass(slots=True)
class LineMaker:
    """Makes lines of rows; `faults` and `warnings` gather what is found wrong."""

    columns: Columns
    options: TallyOptions
    mark: DecimalMark | None
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)
    heading: Heading = field(default_factory=Heading)
    by_role: dict[Role, list[Read]] = field(default_factory=dict)
    firsts: dict[Role, Read] = field(default_factory=dict)
    worded: tuple[Role, ...] = ()
    plain_sizes: tuple[list[Any], ...] = ()

    def __post_init__(self) -> None:
        for role, found in self.columns.by_role.items():
            if _reader(role, found[0], self) is not None:
                self.by_role[role] = [self._read(role, column) for column in found]
        self.firsts = {role: found[0] for role, found in self.by_role.items()}
        plain = [self.firsts[role] for role in _DIMENSIONS if role in self.firsts]
        if len(plain) == len(_DIMENSIONS) and not self.columns.faults and not any(x.troubled for x in plain):
            self.plain_sizes = tuple(found.values for found in plain)
        self.worded = tuple(role for role in WORDS if role in self.by_role)
        amount = self.columns.one(Role.AMOUNT)
        if amount and any(
            read.is_finer_than_cents(cell, self.options.currency) for cell in set(amount.cells)
        ):
            self.warnings.append(
                Fault(amount.where, "amounts in whole cents; each was rounded as it is shown")
            )

    def _read(self, role: Role, column: Column) -> Read:
        reader = _reader(role, column, self) or read.text_of
        values = read_cells(column.cells, reader)
        troubled = any(type(value) is Problem for value in values.values())
        return Read(column, [values[cell] for cell in column.cells], troubled)

    def take_heading(self, text: str, row: int) -> None:
        """Keep what a heading says: a species, perhaps a section."""
        before = len(self.faults)
        section = self._section_among_words(text, f"row {row}")
        self.heading = Heading(_without_sizes(text), section, faulty=len(self.faults) > before)

    def _section_among_words(self, text: str, where: str) -> Section | None:
        """Sizes that stand among other words; None where there are none, or one is faulty, which is noted."""
        if len(text) > read.MAX_TEXT or not read.SIZES.search(text):
            return None
        reader = read.section_reader("", self.columns.unit, self.mark, anywhere=True)
        value = read_cells([text], reader)[text]
        if type(value) is Problem:
            self.faults.append(Fault(where, value.expected, "" if value.of_column else repr(text[:60])))
            return None
        return value if isinstance(value, Section) else None

    def value(self, role: Role, place: int, row: int) -> Any:
        """What a row's cell in the first column of a role says; None when empty or faulty, which is noted."""
        found = self.firsts.get(role)
        if found is None:
            return None
        return self._value(found, place, row) if found.troubled else found.values[place]

    def _value(self, found: Read, place: int, row: int) -> Any:
        value = found.values[place]
        if type(value) is Problem:
            cell = found.column.cells[place]
            where, seen = found.column.where, repr(shown(cell)[:60])
            fault = (
                Fault(where, value.expected)
                if value.of_column
                else Fault(f"row {row}, {where}", value.expected, seen)
            )
            self.faults.append(fault)
            return None
        return value

    def line(self, place: int, row: int) -> TallyLine | None:
        """The line in a row; None when something is wrong with it, which is noted."""
        before = len(self.faults)
        sizes = self._sizes(place, row)
        quantity = self._quantity(place, row)
        words = {role: self.value(role, place, row) or "" for role in self.worded}
        species = self._species(words, row)
        moisture, note = self._moisture_and_note(place, row, words)
        priced, amount = self.value(Role.PRICE, place, row), self.value(Role.AMOUNT, place, row)
        price, unit = self._price(priced, place, row, amount)
        if sizes is None or quantity is None or species is None or len(self.faults) > before:
            return None
        length, width, thickness, is_mean = sizes
        as_sold, width = self._as_sold(quantity, length, width, thickness)
        if thicker_than_wide(as_sold):
            self.warnings.append(
                Fault(f"row {row}", "a board wider than it is thick", f"{width:f} x {thickness:f} mm")
            )
        purchase = self._purchase(place, row, as_sold, price, unit, amount)
        if len(self.faults) > before:
            return None
        return TallyLine(
            row, quantity, length, width, thickness, species, price, unit, amount, purchase,
            words.get(Role.MARK, ""), words.get(Role.PACK, ""), words.get(Role.GRADE, ""), moisture,
            words.get(Role.PLACE, ""), note, words.get(Role.ORIGIN, ""), words.get(Role.CLAIM, ""),
            words.get(Role.CERTIFICATE, ""), is_mean,
        )  # fmt: skip

    def _as_sold(
        self, quantity: int, length: Decimal, width: Decimal, thickness: Decimal
    ) -> tuple[Sized, Decimal]:
        """The pieces as the price counts them, and the net width that is booked."""
        shrinkage, priced_gross = self.options.shrinkage_pct, self.options.measure is Measure.GROSS
        if self.options.sizes is Measure.NET:
            return Sized(quantity, length, width, thickness, shrinkage if priced_gross else Decimal(0)), width
        net = EXACT.multiply(width, 1 - shrinkage / 100)
        return Sized(quantity, length, width if priced_gross else net, thickness), net

    def _sizes(self, place: int, row: int) -> tuple[Decimal, Decimal, Decimal, bool] | None:
        """Length, width and thickness as printed [mm], and whether the length is a mean."""
        if self.plain_sizes:
            length, width, thickness = (values[place] for values in self.plain_sizes)
            if length is not None and width is not None and thickness is not None:
                return length, width, thickness, False
        before = len(self.faults)
        length, width, thickness = (self.value(role, place, row) for role in _DIMENSIONS)
        for role in (Role.SIZE, Role.SECTION, Role.DESCRIPTION):
            if length is not None and width is not None and thickness is not None:
                break
            section = self._section(role, place, row, width is None or thickness is None)
            if isinstance(section, Section):
                length = length if length is not None else section.length_mm
                width = width if width is not None else section.width_mm
                thickness = thickness if thickness is not None else section.thickness_mm
        if self.heading.section is not None:
            length = length if length is not None else self.heading.section.length_mm
            width = width if width is not None else self.heading.section.width_mm
            thickness = thickness if thickness is not None else self.heading.section.thickness_mm
        if thickness is None:
            thickness = self.options.thickness_mm
        is_mean = False
        run, quantity = self.value(Role.LINEAL_METRES, place, row), None
        if length is None and run is not None and (quantity := self.value(Role.QUANTITY, place, row)):
            is_mean = quantity > 1
            length = (run / quantity).quantize(_MEAN_LENGTH_STEP_MM, ROUND_DOWN) if is_mean else run
        if len(self.faults) > before or self.columns.faults or self.heading.faulty:
            return None
        if is_mean:
            self.warnings.append(Fault(f"row {row}", "a length for each piece; their mean was taken"))
        for name, size in (("length", length), ("width", width), ("thickness", thickness)):
            if size is None:
                self.faults.append(Fault(f"row {row}", f"a {name}"))
        if length is not None and not 1 <= length <= Dimension.LENGTH.max_mm:
            self.faults.append(Fault(f"row {row}", "pieces of at most 20 m", f"{length:f} mm each"))
        if length is None or width is None or thickness is None or len(self.faults) > before:
            return None
        return length, width, thickness, is_mean

    def _section(self, role: Role, place: int, row: int, wanted: bool) -> Section | None:
        found = self.by_role.get(role)
        if not found:
            return None
        if role is not Role.DESCRIPTION:
            value = self._value(found[0], place, row)
            return value if isinstance(value, Section) else None
        cell = found[0].column.cells[place]
        if not wanted or not isinstance(cell, str):
            return None
        return self._section_among_words(cell, found[0].column.where)

    def _quantity(self, place: int, row: int) -> int | None:
        if Role.QUANTITY not in self.by_role:
            return 1
        before = len(self.faults)
        quantity: int | None = self.value(Role.QUANTITY, place, row)
        if quantity is None and len(self.faults) == before:
            where = self.by_role[Role.QUANTITY][0].column.where
            self.faults.append(Fault(f"row {row}, {where}", "a count of pieces"))
        return quantity

    def _species(self, words: dict[Role, str], row: int) -> str | None:
        species = words.get(Role.SPECIES) or self.heading.species
        if not species and not words.get(Role.SPECIES) and Role.DESCRIPTION in words:
            species = _without_sizes(words[Role.DESCRIPTION])
        species = species or self.options.species or ""
        if not species:
            self.faults.append(
                Fault(f"row {row}", "a species, in a column, a heading or for the whole sheet")
            )
            return None
        return species

    def _moisture_and_note(self, place: int, row: int, words: dict[Role, str]) -> tuple[Decimal | None, str]:
        moisture = self.value(Role.MOISTURE, place, row)
        notes = [
            text
            for role in (Role.NOTE, Role.DEFECTS)
            for column in self.by_role.get(role, ())
            if (text := self._value(column, place, row))
        ]
        if words.get(Role.DESCRIPTION):
            notes.insert(0, words[Role.DESCRIPTION])
        if isinstance(moisture, str):
            notes.append(f"moisture: {moisture}")
            moisture = None
        return moisture, "; ".join(notes)

    def _price(
        self, priced: Priced | None, place: int, row: int, amount: Decimal | None
    ) -> tuple[Decimal | None, PriceUnit | None]:
        if priced is None and self.options.price is None:
            return None, None
        column = self.columns.one(Role.PRICE)
        unit = priced.unit if priced else None
        unit = unit or self.value(Role.PRICE_UNIT, place, row)
        unit = unit or (column.heading.measure if column and priced else None) or self.options.price_unit
        if unit is None and self.options.price is not None and priced is None:
            self.faults.append(Fault("price for the whole sheet", "what it is for, such as m3"))
        elif unit is None and column is not None:
            said = Fault(
                column.where, "what the price is for, in its header, its cells or for the whole sheet"
            )
            # With the row's own money there, the price is only not checked.
            (self.faults if amount is None else self.warnings).append(said)
        return (priced.price if priced else self.options.price), unit

    def _purchase(
        self,
        place: int,
        row: int,
        sized: Sized,
        price: Decimal | None,
        unit: PriceUnit | None,
        amount: Decimal | None,
    ) -> Fraction | None:
        """The row's money, after its own figures have been held against its sizes and price."""
        measures: dict[PriceUnit, Fraction] = {}
        for found in self.by_role.get(Role.VOLUME, ()):
            printed: Printed | None = self._value(found, place, row)
            if printed is None:
                continue
            volume_unit = found.column.heading.measure or PriceUnit.M3
            each = found.column.heading.each
            if volume_fits(printed, volume_unit, each, sized):
                continue
            if (by_surface := surface_volume(printed, volume_unit, each, sized)) is not None:
                measures[volume_unit] = by_surface
            else:
                wanted = f"{float(sized.measure(volume_unit) * sized.quantity):.4g} by the sizes"
                self._disagreement(row, found.column, wanted, f"{printed.value:f}")
        run = self.value(Role.LINEAL_METRES, place, row)
        if run is not None and run_meant(run, sized):
            measures[PriceUnit.LINEAL_METRE] = Fraction(run) / 1000
        elif run is not None:
            wanted = f"{float(sized.length_mm) * sized.quantity / 1000:.4g} m by the sizes"
            column = self.by_role[Role.LINEAL_METRES][0].column
            self._disagreement(row, column, wanted, f"{run / 1000:f} m")
        if price is None or unit is None or unit is PriceUnit.LOT:
            return None if amount is None else Fraction(amount)
        charged = measures.get(unit)
        if amount is None and charged is None and unit is PriceUnit.PIECE:
            return Fraction(price * sized.quantity)  # the same, without the sizes that do not count
        if amount is None:
            return Fraction(price) * (sized.measure(unit) * sized.quantity if charged is None else charged)
        by_size = sized.near_measure(unit) * sized.quantity
        counted = (by_size,) if charged is None else (float(charged), by_size)
        if not amount_fits(amount, price, unit, counted, sized.quantity, self.options.currency):
            wanted = f"{float(price) * counted[0]:.2f} by price and sizes"
            self._disagreement(row, self.by_role[Role.AMOUNT][0].column, wanted, f"{amount:f}")
        return Fraction(amount)

    def _disagreement(self, row: int, column: Column, expected: str, found: str) -> None:
        """A row that contradicts itself is a fault: a unit was misread, or the supplier slipped.

        Whoever trusts the printed figures says so, and gets a warning.
        """
        notes = self.warnings if self.options.trust_amounts else self.faults
        notes.append(Fault(f"row {row}, {column.where}", expected, found))


def _reader(role: Role, column: Column, maker: LineMaker) -> Callable[[str | Decimal], Any] | None:
    """How the cells of a role are read; None for columns that are not."""
    mark, currency = maker.mark, maker.options.currency
    unit = column.heading.unit or maker.columns.unit
    if role in _DIMENSIONS:
        return read.length_reader(_DIMENSIONS[role], unit, mark)
    if role in (Role.SECTION, Role.SIZE):
        return read.section_reader(column.heading.order, unit, mark)
    if role in WORDS:
        return read.text_of
    return {
        Role.QUANTITY: lambda: read.quantity_of,
        Role.LINEAL_METRES: lambda: read.run_reader(column.heading.unit or LengthUnit.M, mark),
        Role.VOLUME: lambda: read.figure_reader(mark),
        Role.PRICE: lambda: read.price_reader(currency, mark),
        Role.PRICE_UNIT: lambda: read.price_unit_of,
        Role.AMOUNT: lambda: read.amount_reader(currency, mark),
        Role.MOISTURE: lambda: read.moisture_reader(mark),
    }.get(role, lambda: None)()


def _without_sizes(text: str) -> str:
    """A description or heading without the sizes in it."""
    plain = " ".join(read.SIZES.sub(" ", text).split())
    return plain.strip(" -,:;/()")
