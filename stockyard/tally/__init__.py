"""A supplier's delivery tally, read into lines that can be booked: pure functions of its bytes.

Knows how tallies are written (CSV and XLSX, headers and units in many words, totals, amounts) and what
pieces cost once delivered. Knows nothing of the yard's boards, numbers, species list or database.
"""

from stockyard.tally.landed_cost import (
    Charge,
    CostedLine,
    LandedCost,
    PieceCost,
    ShareBy,
    Tax,
    landed_cost,
)
from stockyard.tally.read import read_tally
from stockyard.tally.tally import (
    ColumnTaken,
    Measure,
    Role,
    SkippedRow,
    Tally,
    TallyLine,
    TallyOptions,
)

__all__ = [
    "Charge",
    "ColumnTaken",
    "CostedLine",
    "LandedCost",
    "Measure",
    "PieceCost",
    "Role",
    "ShareBy",
    "SkippedRow",
    "Tally",
    "TallyLine",
    "TallyOptions",
    "Tax",
    "landed_cost",
    "read_tally",
]
