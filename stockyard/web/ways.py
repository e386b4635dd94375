"""How one person likes to be shown things on one device: millimetres or inches, light or dark."""

from collections.abc import Mapping
from dataclasses import dataclass

from stockyard.measures.length import LengthUnit, parse_length, show_feet_inches, show_mm

UNITS = ("mm", "in")
THEMES = ("auto", "light", "dark")


@dataclass(frozen=True, slots=True)
class Ways:
    """What a device's cookies say. units: mm or in. theme: auto (as the device), light or dark."""

    units: str = "mm"
    theme: str = "auto"

    @classmethod
    def of(cls, cookies: Mapping[str, str]) -> "Ways":
        """The ways that cookies ask for; what they do not say, or say wrongly, is as usual."""
        units, theme = cookies.get("units", ""), cookies.get("theme", "")
        return cls(units if units in UNITS else "mm", theme if theme in THEMES else "auto")

    def length(self, mm: float) -> str:
        """A length as it stands in a table: 2400, or 7' 10 1/2"."""
        return show_mm(mm) if self.units == "mm" else show_feet_inches(mm)

    def size(self, *sizes_mm: float) -> str:
        """Sizes with their unit: 2400 × 178 × 32 mm, or 7' 10 1/2" × 7" × 1 1/4"."""
        shown = " × ".join(self.length(mm) for mm in sizes_mm)
        return f"{shown} mm" if self.units == "mm" else shown

    def read_mm(self, text: str, where: str) -> float:
        """A length as typed, in mm; a bare number is in the unit shown. Raises BadInput."""
        unit = LengthUnit.MM if self.units == "mm" else LengthUnit.IN
        return float(parse_length(text, unit, where=where))
