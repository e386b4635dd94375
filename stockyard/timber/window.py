"""A rectangle on a board, on its whole-millimetre grid."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Window:
    """[x0, x1] x [y0, y1] in whole mm of the board frame, x0 < x1 and y0 < y1."""

    x0: int
    y0: int
    x1: int
    y1: int

    @property
    def length_mm(self) -> int:
        """Size along the board."""
        return self.x1 - self.x0

    @property
    def width_mm(self) -> int:
        """Size across the board."""
        return self.y1 - self.y0

    @property
    def area_mm2(self) -> int:
        """Area."""
        return self.length_mm * self.width_mm

    def meets(self, other: "Window") -> bool:
        """Do the two share positive area?"""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def holds(self, other: "Window") -> bool:
        """Does `other` lie wholly inside, edges included?"""
        return self.x0 <= other.x0 and other.x1 <= self.x1 and self.y0 <= other.y0 and other.y1 <= self.y1
