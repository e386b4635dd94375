"""One piece as the books see it on a date: what it is, where it is, how much there is, what it is worth."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Holding:
    """A piece on hand on some date.

    status: "free", "promised" or "in work". gross_mm3: its whole volume. clear_mm3: what its mapped weakening
    defects leave, over the full thickness. worth: its book value, in the yard's currency. age, moisture: the
    class each falls in, in words.
    """

    number: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    place: str
    status: str
    docket: str
    gross_mm3: Decimal
    clear_mm3: Decimal
    worth: Decimal
    kind: str = ""
    supplier: str = ""
    age: str = ""
    moisture: str = ""
