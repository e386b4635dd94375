"""Filling pages from the top down, and beginning another where one is full."""

from collections.abc import Callable

from stockyard.drawings.page import Table, foot
from stockyard.drawings.sheet import Sheet

NewPage = Callable[[], tuple[Sheet, float]]
"""Makes the next page with its head; also says where the rest may begin. [mm of paper]"""


class Flow:
    """The pages of one drawing, each block of it set where there is room.

    next_page: None for one page that grows as long as it must.
    """

    def __init__(self, first: Sheet, top_mm: float, next_page: NewPage | None = None) -> None:
        self.sheets = [first]
        self.top_mm = top_mm
        self._next_page = next_page
        self._begun_mm = top_mm

    @property
    def sheet(self) -> Sheet:
        """The page being filled."""
        return self.sheets[-1]

    @property
    def width_mm(self) -> float:
        """Width of the lines of writing."""
        return self.sheet.right_mm - self.sheet.left_mm

    @property
    def room_mm(self) -> float:
        """Height that is left on the page."""
        return self.sheet.foot_mm - self.top_mm

    def turn_page(self) -> None:
        """Begin another page, where there may be one."""
        if self._next_page is not None:
            sheet, self.top_mm = self._next_page()
            self._begun_mm = self.top_mm
            self.sheets.append(sheet)

    def claim(self, high_mm: float, with_mm: float = 0.0) -> float:
        """The top of a block of that height, on another page when this one lacks the room. [mm of paper]

        with_mm: what must follow on the same page, such as the first row under a heading.
        """
        if high_mm + with_mm > self.room_mm and self.top_mm > self._begun_mm:
            self.turn_page()
        top = self.top_mm
        self.top_mm += high_mm
        if self.top_mm > self.sheet.foot_mm:
            self.sheet.height_mm += self.top_mm - self.sheet.foot_mm
        return top

    def set_table(self, table: Table, gap_mm: float = 2.5) -> None:
        """Set a table, going on over the page where it is too long."""
        rest = table
        while rest.rows:
            fits = rest.height_mm(self.width_mm) <= self.room_mm or self._next_page is None
            here, rest = (rest, table.split(0, 1)[0]) if fits else rest.split(self.room_mm, self.width_mm)
            if not here.rows and self.top_mm > self._begun_mm:
                self.turn_page()
                continue
            if not here.rows:  # a page too small for one row
                here, rest = rest, here
            top = self.claim(here.height_mm(self.width_mm))
            self.sheet.add(*here.marks(self.sheet.left_mm, top, self.width_mm))
            self.top_mm += gap_mm

    def finish(self, left: str, right: str, ruler: bool = True) -> list[Sheet]:
        """Write every page's foot, with a ruler where a scale is stated; returns the pages."""
        for number, sheet in enumerate(self.sheets, 1):
            pages = f"page {number} of {len(self.sheets)}" if len(self.sheets) > 1 else ""
            foot(sheet, left, " · ".join(part for part in (right, pages) if part), ruler)
        return self.sheets
