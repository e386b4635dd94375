"""Write down what a moisture meter showed on a board, corrected for wood temperature and species."""

from datetime import date
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.moisture.meter import corrected
from stockyard.moisture.ovendry import moisture_content_pct
from stockyard.timber.moisture_reading import MoistureReading

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork

OVENDRY = "ovendry"
"""The meter's name for a reading that was weighed, which is right as it is."""


def add_reading(
    open_work: "OpenWork",
    number: str,
    raw_pct: float,
    *,
    meter: str = "",
    wood_c: float | None = None,
    taken_on: date | None = None,
    origin: str | None = None,
    note: str = "",
) -> MoistureReading:
    """Keep a reading of a board: raw as shown, and corrected by a stated rule.

    raw_pct: more than 0 and at most 100 (dry basis). wood_c: the wood's temperature. meter: whatever the
    workshop calls it; "ovendry" for a weighed sample, which is not corrected. origin: where the tree grew,
    where the species' correction depends on it. A reading that no table covers is kept with no corrected
    figure and a note that says why.
    Raises BadInput for an impossible figure or a day to come, NotFound for no such board.
    """
    with open_work() as work:
        piece = work.pieces.get(number)
        day = taken_on or work.today
        faults = []
        if day > work.today:
            faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
        if not piece.on_hand:
            faults.append(Fault("board", "a board on hand", f"{number}, which is gone"))
        if faults:
            raise BadInput(f"The reading of {number} was not written down.", faults)
        if meter.strip().casefold() == OVENDRY:
            percent: float | None = _weighed(raw_pct)
            rule, remark = "weighed ovendry, not corrected", ""
        else:
            table = work.species.table()
            reading = corrected(raw_pct, wood_c, piece.species, origin, names=table)
            percent, rule, remark = reading.percent, reading.rule, reading.note
        work.readings.add(
            [
                MoistureReading(
                    piece=number,
                    taken_on=day,
                    raw_pct=raw_pct,
                    corrected_pct=percent,
                    meter=meter.strip(),
                    wood_c=wood_c,
                    rule=rule,
                    note=" ".join(text for text in (note.strip(), remark) if text),
                )
            ]
        )
        kept = max(work.readings.of_piece(number), key=lambda reading: reading.id or 0)
        work.commit()
    return kept


def add_weighed(
    open_work: "OpenWork",
    number: str,
    wet_g: float,
    dry_g: float,
    *,
    taken_on: date | None = None,
    note: str = "",
) -> MoistureReading:
    """Keep the moisture content of a sample weighed as cut and after drying to constant mass, on dry basis.

    wet_g, dry_g: in the same unit, > 0, wet at least dry. Raises BadInput for masses that give none, else as
    `add_reading`.
    """
    percent = round(moisture_content_pct(wet_g, dry_g), 2)
    weighed = f"{wet_g:g} g as cut, {dry_g:g} g ovendry."
    told = " ".join(text for text in (weighed, note.strip()) if text)
    return add_reading(open_work, number, percent, meter=OVENDRY, taken_on=taken_on, note=told)


def list_readings(open_work: "OpenWork", number: str) -> tuple[MoistureReading, ...]:
    """Every reading of a board, the oldest first.

    Raises NotFound for no such board.
    """
    with open_work(reading=True) as work:
        return work.readings.of_piece(number)


def _weighed(pct: float) -> float:
    if not 0 < pct <= 300:
        raise BadInput("A moisture content is a percentage.", [Fault("reading", "0 to 300 %", f"{pct:g}")])
    return pct
