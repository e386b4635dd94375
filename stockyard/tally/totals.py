"""Rows of totals, held against the lines above them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal

from stockyard.errors import BadInput, Fault
from stockyard.measures.length import LengthUnit
from stockyard.measures.money import smallest_unit
from stockyard.measures.price import MM3_EACH, PriceUnit
from stockyard.tally import cells as read
from stockyard.tally.amounts import TOLERANCE
from stockyard.tally.columns import Column
from stockyard.tally.lines import LineMaker
from stockyard.tally.sheet import Cell
from stockyard.tally.tally import Role, TallyLine


@dataclass(slots=True)
class Sums:
    """What lines add up to. volumes: by column, as printed and by the sizes."""

    lines: int = 0
    pieces: int = 0
    run_mm: Decimal = Decimal(0)
    money: float = 0.0
    money_complete: bool = True
    printed: dict[int, float] = field(default_factory=dict)
    mm3: float = 0.0

    def add(self, line: TallyLine, volumes: dict[int, float]) -> None:
        """Count a line in."""
        self.lines += 1
        self.pieces += line.quantity
        self.run_mm += line.length_mm * line.quantity
        self.mm3 += float(line.piece_mm3) * line.quantity
        if line.purchase is None:
            self.money_complete = False
        else:
            self.money += float(line.purchase)
        for index, volume in volumes.items():
            self.printed[index] = self.printed.get(index, 0.0) + volume


@dataclass(slots=True)
class Totals:
    """Checks rows of totals as they come: each may be of the lines since the last one, or of all.

    lines: as (line, place below the header); they are added up only when a total asks. extras: money of
    charges seen between the lines, which a last total may include. lot_total: the newest total of money
    over lines that have no prices.
    """

    maker: LineMaker
    lines: list[tuple[TallyLine, int]] = field(default_factory=list)
    all: Sums = field(default_factory=Sums)
    added: int = 0
    extras: float = 0.0
    lot_total: Decimal | None = None

    def add(self, line: TallyLine, place: int) -> None:
        """Count a line in."""
        self.lines.append((line, place))

    def _sum_up(self) -> Sums:
        """The sums of the lines since the last total; `all` is brought up to date."""
        since = Sums()
        for line, place in self.lines[self.added :]:
            volumes = {}
            for found in self.maker.by_role.get(Role.VOLUME, ()):
                printed = found.values[place]
                if isinstance(printed, read.Printed):
                    pieces = line.quantity if found.column.heading.each else 1
                    volumes[found.column.index] = float(printed.value) * pieces
            since.add(line, volumes)
            self.all.add(line, volumes)
        self.added = len(self.lines)
        return since

    def charge(self, place: int) -> None:
        """Count in the money of a charge."""
        column = self.maker.columns.one(Role.AMOUNT)
        if column is not None and (amount := self._money(column.cells[place])) is not None:
            self.extras += float(amount)

    def check(self, place: int, row: int) -> None:
        """Hold a row of totals against the lines; what differs is a fault of the maker's."""
        if self.maker.faults or self.maker.columns.faults:
            return
        sums = [each for each in (self._sum_up(), self.all) if each.lines]
        for role, columns in self.maker.columns.by_role.items():
            for column in columns:
                self._check(role, column, column.cells[place], row, sums)

    def _check(self, role: Role, column: Column, cell: Cell, row: int, candidates: list[Sums]) -> None:
        figure = self._figure(role, column, cell)
        if figure is None:
            return
        if role is Role.AMOUNT and not any(sums.money_complete for sums in candidates):
            # Lines without prices under a total with one: the total is the price of the lot.
            self.lot_total = figure
            return
        wanted: list[tuple[float, float]] = []
        for sums in candidates:
            wanted += self._sums(role, column, sums)
        if wanted and not any(abs(float(figure) - value) <= slack for value, slack in wanted):
            nearest = min((value for value, _ in wanted), key=lambda value: abs(float(figure) - value))
            self.maker.faults.append(
                Fault(
                    f"row {row}, {column.where}",
                    f"a total of {nearest:,.10g}, as the lines add up to",
                    f"{figure:f}",
                )
            )

    def _sums(self, role: Role, column: Column, sums: Sums) -> list[tuple[float, float]]:
        """What the lines may come to in this column, with how far off it may be."""
        if role is Role.QUANTITY:
            return [(float(sums.pieces), 0.0)]
        if role is Role.LINEAL_METRES:
            metres = float(sums.run_mm) / float((column.heading.unit or LengthUnit.M).mm)
            return [(metres, metres * TOLERANCE + 0.05)]
        if role is Role.VOLUME:
            unit = column.heading.measure or PriceUnit.M3
            by_size = sums.mm3 / float(MM3_EACH[unit])
            by_print = sums.printed.get(column.index, by_size)
            slack = TOLERANCE * by_size + 0.0005 * sums.lines
            return [(by_print, slack), (by_size, slack)]
        if role is Role.AMOUNT and sums.money_complete:
            slack = float(smallest_unit(self.maker.options.currency)) * (sums.lines + 1) / 2
            return [(sums.money, slack), (sums.money + self.extras, slack)]
        return []

    def _figure(self, role: Role, column: Column, cell: Cell) -> Decimal | None:
        mark = self.maker.mark
        if role is Role.AMOUNT:
            return self._money(cell)
        if role is Role.QUANTITY:
            return self._read(cell, lambda given: read.count_of_total(given, mark))
        if role is Role.VOLUME:
            return self._read(cell, lambda given: read.figure_reader(mark)(given).value)
        if role is Role.LINEAL_METRES:
            unit = column.heading.unit or LengthUnit.M
            return self._read(cell, lambda given: read.run_reader(unit, mark)(given) / unit.mm)
        return None

    def _money(self, cell: Cell) -> Decimal | None:
        currency = self.maker.options.currency
        return self._read(cell, read.amount_reader(currency, self.maker.mark))

    @staticmethod
    def _read(cell: Cell, reader: Callable[[str | Decimal], Decimal]) -> Decimal | None:
        """None for cells that hold no figure: a row of totals is not booked, so words in it do no harm."""
        if not isinstance(cell, str | Decimal) or cell == "" or len(str(cell)) > read.MAX_TEXT:
            return None
        try:
            return reader(cell)
        except BadInput:
            return None
