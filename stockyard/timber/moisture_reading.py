"""A moisture reading: what the meter showed, and what it was corrected to."""

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class MoistureReading:
    """One reading of one piece. [percent moisture, dry basis]

    raw_pct: as the meter showed it. corrected_pct: for wood temperature and species, by `rule` (told in
    words, so that a later rule can be applied anew to the raw reading), None where no rule has data.
    wood_c: the wood's temperature. copied_from: on an offcut or stave, the parent's number. void: why it
    was taken back, None while it stands. id, at and who are filled in by the records.
    """

    piece: str
    taken_on: date
    raw_pct: float
    corrected_pct: float | None
    meter: str = ""
    wood_c: float | None = None
    rule: str = ""
    note: str = ""
    copied_from: str | None = None
    void: str | None = None
    id: int | None = None
    at: datetime | None = None
    who: str = ""
