"""A board's moisture over time beside the equilibrium of the shop's air, and whether it may be used.

board_moisture(open_work, number) -> BoardMoisture
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from stockyard.errors import BadInput
from stockyard.services.climate_log import climate_of
from stockyard.services.judge_ready import JudgedBoard, judge_ready
from stockyard.timber.climate_log import SHOP
from stockyard.timber.moisture_reading import MoistureReading

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


@dataclass(frozen=True, slots=True)
class MeanEmc:
    """The shop's mean equilibrium over some days. [percent] first: of them, last: the day after."""

    first: date
    last: date
    emc_pct: float


@dataclass(frozen=True, slots=True)
class BoardMoisture:
    """readings: those that stand, oldest first. emc: of the shop by month, from the first reading's month on.

    judged: for the shop's own air; None where nothing tells it, and why_not_judged says why. today: of it.
    """

    readings: tuple[MoistureReading, ...]
    emc: tuple[MeanEmc, ...]
    judged: JudgedBoard | None
    why_not_judged: str
    today: date


def board_moisture(open_work: "OpenWork", number: str) -> BoardMoisture:
    """What is known of a board's moisture. Raises NotFound."""
    with open_work(reading=True) as work:
        work.pieces.get(number)
        today = work.today
        readings = tuple(each for each in work.readings.of_piece(number) if each.void is None)
        months = climate_of(work, SHOP).monthly() if work.climate.find(SHOP) is not None else ()
    since = readings[0].taken_on if readings else today
    emc = tuple(
        MeanEmc(month.first_day, _next_month(month.first_day), month.emc_pct)
        for month in months
        if _next_month(month.first_day) > since and month.first_day <= today
    )
    try:
        (judged,) = judge_ready(open_work, [number]).boards
    except BadInput as refused:
        return BoardMoisture(readings, emc, None, refused.message, today)
    return BoardMoisture(readings, emc, judged, "", today)


def _next_month(first: date) -> date:
    return date(first.year + first.month // 12, first.month % 12 + 1, 1)
