"""Quantities of consumables as people write them: "2 kg", "750 mL", "200"."""

import re
from decimal import Decimal

from stockyard.errors import BadInput

_FACTORS = {
    "g": {"g": 1, "kg": 1000},
    "mL": {"ml": 1, "l": 1000, "litre": 1000, "litres": 1000},
    "each": {"each": 1, "pcs": 1},
}
MOST = Decimal(10) ** 12
"""What no shelf holds: more is a slip of the keys, and beyond what is kept exactly."""

_WRITTEN = re.compile(r"\s*([+]?\d[\d,]*\.?\d*|\.\d+)\s*([a-zA-Z]*)\s*")


def parse_quantity(text: str, unit: str, where: str = "quantity") -> Decimal:
    """A quantity in `unit`, which counts where none is written. From 0 to below MOST, to a thousandth.

    unit: "g", "mL" or "each". Raises BadInput.
    """
    read = _WRITTEN.fullmatch(text)
    factor = _FACTORS[unit].get(read[2].casefold() or unit.casefold()) if read else None
    if read is None or factor is None:
        known = ", ".join(_FACTORS[unit])
        raise BadInput(f"{where}: expected a number of {unit} (or {known}), found {text!r}.")
    value = Decimal(read[1].replace(",", "")) * factor
    if value >= MOST:
        raise BadInput(f"{where}: expected less than {MOST:,} {unit}, found {text!r}.")
    if value != value.quantize(Decimal("0.001")):
        raise BadInput(f"{where}: {text!r} is finer than a thousandth of {unit}.")
    return value.quantize(Decimal("0.001")).normalize() + 0


def show_quantity(value: Decimal, unit: str) -> str:
    """A quantity as a person reads it: "1,250 g", "200"."""
    told = f"{value:,.3f}".rstrip("0").rstrip(".")
    return told if unit == "each" else f"{told} {unit}"
