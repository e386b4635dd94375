"""Judge whether boards may be used today, and if not why not and when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.moisture.drying import DatedMoisture
from stockyard.moisture.readiness import Readiness, ReadyRule, board_readiness
from stockyard.services.air_of import Air, PlaceAir, destination_air, shop_air
from stockyard.services.habits import habits_of, ready_rule
from stockyard.services.jobs import job_of
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.piece import Piece
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork


@dataclass(frozen=True, slots=True)
class JudgedBoard:
    """One board: what its readings say. readings: that stand, oldest first, those without a figure too."""

    piece: Piece
    readings: tuple[MoistureReading, ...]
    readiness: Readiness

    @property
    def newest(self) -> MoistureReading | None:
        """The newest reading that has a corrected figure."""
        return next((r for r in reversed(self.readings) if r.corrected_pct is not None), None)


@dataclass(frozen=True, slots=True)
class ReadySheet:
    """The boards judged, under which rule, and between which two airs. today: of the judging."""

    boards: tuple[JudgedBoard, ...]
    rule: ReadyRule
    shop: PlaceAir
    destination: PlaceAir
    today: date
    notes: tuple[str, ...]


def judge_ready(
    open_work: "OpenWork",
    numbers: Sequence[str] = (),
    *,
    to: str | None = None,
    to_air: Air | None = None,
    at_shop: Air | None = None,
    job: str | None = None,
    on: date | None = None,
) -> ReadySheet:
    """Judge these boards, or everything on hand when none is named.

    to: the logged place that the piece goes to; to_air: its air by hand; the shop's own air where neither is
    told, which a note says. at_shop: the shop's air by hand. job: whose moisture limits bind. on: a day gone
    by, judged from what had been read by its evening.
    Raises NotFound, and BadInput when the shop's air is not known or a figure is improbable.
    """
    with open_work(reading=True) as work:
        rule = ready_rule(habits_of(work), job_of(work, work.jobs.get(job)).moisture if job else None)
        if on is not None and on > work.today:
            raise BadInput(
                "Boards cannot be judged on a day to come.",
                [Fault("day", f"a day up to today, {work.today}", str(on))],
            )
        today = on or work.today
        shop = shop_air(work, at_shop, None if on is None else _evening(on, work.now))
        destination = destination_air(work, to, to_air)
        pieces = (
            _in_order(work.pieces.get_many(numbers), numbers) if numbers else work.pieces.find(RackQuery())
        )
        readings = work.readings.of_pieces(piece.number for piece in pieces)
    notes = []
    if destination is None:
        destination = shop
        notes.append("Where the piece goes was not said (--to), so the shop's own air is taken.")
    judged = []
    for piece in pieces:
        standing = tuple(r for r in readings[piece.number] if r.void is None and r.taken_on <= today)
        judged.append(JudgedBoard(piece, standing, _judged(standing, shop, destination, today, rule)))
    return ReadySheet(tuple(judged), rule, shop, destination, today, tuple(notes))


def _in_order(pieces: Mapping[str, Piece], numbers: Sequence[str]) -> list[Piece]:
    return [pieces[number] for number in dict.fromkeys(numbers)]


def _evening(day: date, now: datetime) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), now.tzinfo)


def _judged(
    readings: Sequence[MoistureReading], shop: PlaceAir, destination: PlaceAir, today: date, rule: ReadyRule
) -> Readiness:
    return board_readiness(
        [DatedMoisture(r.taken_on, r.corrected_pct) for r in readings if r.corrected_pct is not None],
        shop_emc_pct=shop.emc_pct,
        destination_emc_pct=destination.emc_pct,
        today=today,
        rule=rule,
    )
