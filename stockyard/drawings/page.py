"""What the sheets have in common: the head with the number written large, the foot, and tables."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stockyard.drawings.lettering import fitted, size_to_fit, width_mm, wrapped
from stockyard.drawings.sheet import (
    FAINT,
    FINE,
    HAIR,
    HEAVY,
    INK,
    MARGIN_MM,
    SOFT,
    Group,
    Line,
    Mark,
    Pen,
    Sheet,
    Words,
)


def head(
    sheet: Sheet, name: str, what: str, lines: Sequence[str], size_mm: float = 9.0, room_mm: float = 105.0
) -> float:
    """Write the head of a sheet; returns where the rest may begin. [mm of paper]

    name: written large. what: what this sheet is. lines: up to three, at the right.
    """
    base = MARGIN_MM + max(size_mm * 0.74, (len(lines) - 1) * 4.2 + 2.2)
    rule = base + max(3.0, size_mm * 0.27)
    size = size_to_fit(name, room_mm, size_mm, 4.5, bold=True, serif=True)
    written = fitted(name, room_mm, size, bold=True, serif=True)
    beside = sheet.left_mm + width_mm(written, size, bold=True, serif=True) + 5
    sheet.add(
        Words(sheet.left_mm, base, written, size, bold=True, serif=True),
        Words(beside, base, fitted(what, 62, 4.4, serif=True), 4.4, serif=True, colour=SOFT),
    )
    room = sheet.right_mm - beside - min(62.0, width_mm(what, 4.4, serif=True)) - 6
    for row, line in enumerate(lines):
        sheet.add(
            Words(
                sheet.right_mm,
                base - (len(lines) - 1 - row) * 4.2,
                fitted(line, room, 3.0),
                3.0,
                "end",
                colour=INK if row == 0 else SOFT,
            )
        )
    sheet.add(Line(((sheet.left_mm, rule), (sheet.right_mm, rule)), HEAVY))
    return rule


CHECK_MM = 50.0
"""How long the check ruler in the foot of a sheet is."""


def foot(sheet: Sheet, left: str, right: str, ruler: bool = True) -> None:
    """Write the foot of a sheet: what it explains; its scale, over a ruler to check the print by."""
    top = sheet.height_mm - 14.2
    beside = max(CHECK_MM + 16, width_mm(right, 2.6)) + 6
    lines = wrapped(left, sheet.right_mm - sheet.left_mm - beside, 2.6)
    base = sheet.height_mm - 6.5
    start = sheet.right_mm - CHECK_MM
    sheet.add(Line(((sheet.left_mm, top), (sheet.right_mm, top)), Pen(0.2, FAINT)))
    for row, line in enumerate(lines[:2]):
        text = line if row == 0 or len(lines) < 3 else fitted(f"{line} …", 1e6, 2.6)
        sheet.add(Words(sheet.left_mm, top + 3.6 + row * 3.6, text, 2.6, colour=SOFT))
    sheet.add(Words(sheet.right_mm, top + 3.6, right, 2.6, "end", colour=SOFT))
    if not ruler:
        return
    ticks: list[Mark] = [Line(((start, base), (sheet.right_mm, base)), FINE)]
    for tenth in range(6):
        x = start + tenth * CHECK_MM / 5
        tall = 2.0 if tenth in (0, 5) else 1.2
        ticks.append(Line(((x, base - tall), (x, base)), FINE))
    ticks.append(Words(start - 1.5, base, "50 mm", 2.6, "end", colour=SOFT))
    sheet.add(Group("ruler", "50", tuple(ticks), "A ruler of 50 mm, to check the print by"))


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading and its width. [mm of paper]"""

    heading: str
    width_mm: float
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows set in as many blocks side by side as the page has room for. [mm of paper]"""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]
    size_mm: float = 2.7
    leading_mm: float = 4.0
    gap_mm: float = 8.0

    @property
    def block_mm(self) -> float:
        """Width of one block of columns."""
        return sum(column.width_mm for column in self.columns)

    def larger(self, by: float) -> "Table":
        """The same table, everything `by` times as large."""
        return replace(
            self,
            columns=[replace(column, width_mm=column.width_mm * by) for column in self.columns],
            size_mm=self.size_mm * by,
            leading_mm=self.leading_mm * by,
        )

    def split(self, high_mm: float, room_mm: float) -> tuple["Table", "Table"]:
        """What of it fits in that height, and the rest. [mm of paper]"""
        deep = max(0, int((high_mm - 1 + 1e-6) / self.leading_mm) - 1)
        fit = next((n for n in range(len(self.rows), 0, -1) if self._deep(n, room_mm) <= deep), 0)
        return replace(self, rows=self.rows[:fit]), replace(self, rows=self.rows[fit:])

    def _deep(self, rows: int, room_mm: float) -> int:
        return -(-rows // replace(self, rows=self.rows[:rows]).blocks(room_mm))

    def blocks(self, room_mm: float) -> int:
        """How many blocks stand side by side."""
        most = max(1, int((room_mm + self.gap_mm) // (self.block_mm + self.gap_mm)))
        return min(most, max(1, -(-len(self.rows) // 3)))

    def height_mm(self, room_mm: float) -> float:
        """How tall it will be."""
        if not self.rows:
            return 0.0
        return (-(-len(self.rows) // self.blocks(room_mm)) + 1) * self.leading_mm + 1

    def marks(self, left_mm: float, top_mm: float, room_mm: float) -> list[Mark]:
        """The table, its top left corner there."""
        if not self.rows:
            return []
        marks: list[Mark] = []
        deep = -(-len(self.rows) // self.blocks(room_mm))
        for block in range(self.blocks(room_mm)):
            rows = self.rows[block * deep : (block + 1) * deep]
            if not rows:
                break
            start = left_mm + block * (self.block_mm + self.gap_mm)
            rule = top_mm + self.leading_mm * 0.78
            marks.append(Line(((start, rule), (start + self.block_mm, rule)), HAIR))
            for number, row in enumerate([[c.heading for c in self.columns], *rows]):
                x = start
                base = top_mm + number * self.leading_mm + (0.5 if number == 0 else 0.8) * self.leading_mm
                for column, cell in zip(self.columns, row, strict=True):
                    bold = column.bold and number > 0
                    full = self.size_mm if number else self.size_mm * 0.88
                    size = size_to_fit(cell, column.width_mm - 1.5, full, full * 0.75, bold)
                    text = fitted(cell, column.width_mm - 1.5, size, bold)
                    if text:
                        marks.append(Words(x, base, text, size, bold=bold, colour=INK if number else SOFT))
                    x += column.width_mm
        return marks


def roomiest(tables: Sequence[Table], room_mm: float, high_mm: float, gap_mm: float = 2.5) -> list[Table]:
    """The tables as large as they may be for that room, at most half as large again. [mm of paper]"""
    for by in (1.5, 1.4, 1.3, 1.2, 1.1):
        larger = [table.larger(by) for table in tables]
        wide = max((table.block_mm for table in larger), default=0.0)
        if wide <= room_mm and sum(table.height_mm(room_mm) + gap_mm for table in larger) <= high_mm:
            return larger
    return list(tables)
