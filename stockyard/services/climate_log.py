"""Log the air of the shop and of clients' rooms, and read back what it does to wood."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from stockyard.errors import BadInput, Fault, OutOfRange
from stockyard.moisture.climate import AirMean, AirReading, Climate, EmcSpan, Gap
from stockyard.moisture.equilibrium import humidity_from_percent, room_temperature
from stockyard.moisture.logger import read_logger
from stockyard.timber.climate_log import SHOP, ClimateLog, ClimatePlace

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

BY_HAND = "by hand"


@dataclass(frozen=True, slots=True)
class LoggedAir:
    """What one log added. new, repeated: readings added, and readings that were known already.

    columns: which column of a file was taken for what. notes: what was odd, for a person to read.
    """

    log: ClimateLog
    new: int
    repeated: int
    notes: tuple[str, ...]
    columns: dict[str, str]


@dataclass(frozen=True, slots=True)
class ClimateSheet:
    """The air of one place. span: None, with `no_span` saying why, where no month is covered well enough."""

    place: ClimatePlace
    logs: tuple[ClimateLog, ...]
    readings: int
    first: datetime | None
    last: datetime | None
    months: tuple[AirMean, ...]
    gaps: tuple[Gap, ...]
    span: EmcSpan | None
    no_span: str


def add_air(
    open_work: "OpenWork",
    place: str,
    temperature_c: float,
    humidity_pct: float,
    *,
    at: datetime | None = None,
    zone: str | None = None,
    note: str = "",
) -> LoggedAir:
    """Write down the air of a place as an instrument shows it. [°C, percent]

    at: now when not given; a bare time is told in the place's zone. zone: of a place logged for the first
    time. Raises BadInput with every fault; OutOfRange figures name what they would be in another unit.
    """
    faults = list(_refusals((room_temperature, temperature_c), (humidity_from_percent, humidity_pct)))
    if faults:
        raise BadInput(
            f"The air of {place} was not written down. " + " ".join(fault.message for fault in faults),
            [each for fault in faults for each in fault.faults],
        )
    with open_work() as work:
        kept = _place(work, place, zone)
        moment = at or work.now
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=ZoneInfo(kept.zone))
        if moment > work.now:
            raise BadInput(
                f"The air of {kept.name} was not written down.",
                [Fault("time", f"a time up to now, {work.now.isoformat(timespec='minutes')}", str(at))],
            )
        reading = AirReading(moment, temperature_c, humidity_pct / 100)
        added = work.climate.add(kept.name, [reading], source=BY_HAND, zone=kept.zone, note=note.strip())
        notes = ("It was known already.",) if added.repeated else ()
        log = _log(work, kept.name, added.log)
        work.commit()
    return LoggedAir(log, added.new, added.repeated, notes, {})


def import_climate(
    open_work: "OpenWork",
    place: str,
    content: bytes,
    file_name: str,
    *,
    zone: str | None = None,
    month_first: bool = False,
) -> LoggedAir:
    """Take in a logger's CSV. Readings known already are passed over; nothing is written if any is at fault.

    zone: in which the file's bare times are told; the place's own when not given. A place logged for the
    first time keeps it. Raises BadInput with every fault and its row.
    """
    with open_work() as work:
        kept = _place(work, place, zone)
        told_in = zone or kept.zone
        read = read_logger(content, told_in, month_first=month_first, not_after=work.now)
        notes = list(read.notes)
        if told_in != kept.zone:
            notes.append(
                f"Its times are told in {told_in}; the days of {kept.name} are those of {kept.zone}."
            )
        added = work.climate.add(
            kept.name, read.readings, source=file_name, zone=told_in, note=" ".join(notes)
        )
        if added.repeated:
            notes.append(f"{added.repeated} readings were known already and were passed over.")
        log = _log(work, kept.name, added.log)
        work.commit()
    return LoggedAir(log, added.new, added.repeated, tuple(notes), read.columns)


def take_back_log(open_work: "OpenWork", log: int, because: str) -> str:
    """Take back a log that was wrong, and return its place; its readings stay on record and count no more.

    Raises NotFound, BadInput without a reason, Refused when it was taken back before.
    """
    if not because.strip():
        raise BadInput(f"Log {log} is not taken back without a reason.", [Fault("because", "why")])
    with open_work() as work:
        place = work.climate.void(log, cause=because.strip())
        work.commit()
    return place


def list_places(open_work: "OpenWork") -> tuple[ClimatePlace, ...]:
    """Every place whose air is logged."""
    with open_work(reading=True) as work:
        return work.climate.places()


def show_climate(open_work: "OpenWork", place: str = SHOP) -> ClimateSheet:
    """What is logged of a place, month by month, and where it takes wood. Raises NotFound."""
    with open_work(reading=True) as work:
        climate = climate_of(work, place)
        kept, logs = work.climate.get(place), work.climate.logs(place)
    readings = climate.readings
    try:
        span, no_span = climate.emc_span() if readings else None, ""
    except BadInput as too_short:
        span, no_span = None, too_short.message
    return ClimateSheet(
        kept,
        logs,
        len(readings),
        readings[0].at if readings else None,
        readings[-1].at if readings else None,
        climate.monthly(),
        climate.gaps(),
        span,
        no_span or ("" if readings else "Nothing stands in its log."),
    )


def climate_of(work: "UnitOfWork", place: str) -> Climate:
    """The air of a place as logged. Raises NotFound."""
    kept = work.climate.get(place)
    return Climate(kept.name, work.climate.readings(kept.name), kept.zone)


def _place(work: "UnitOfWork", name: str, zone: str | None) -> ClimatePlace:
    """The place of that name, taken in when it is new, in the zone given or that of the shop."""
    plain = " ".join(name.split())
    if not plain:
        raise BadInput("A place needs a name.", [Fault("place", f"{SHOP!r}, or a room's name")])
    if zone is not None:
        _check_zone(zone)
    found = work.climate.find(plain)
    if found is not None:
        return found
    shop = work.climate.find(SHOP)
    where = zone or (shop.zone if shop else None)
    if where is None:
        raise BadInput(
            f"{plain} is logged for the first time, and in which time zone is not known; say so once.",
            [Fault("zone", "a zone such as Australia/Melbourne")],
        )
    return work.climate.keep_place(plain, where)


def _check_zone(zone: str) -> None:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise BadInput(
            "The zone is not known.", [Fault("zone", "a zone such as Australia/Melbourne", repr(zone))]
        ) from None


def _log(work: "UnitOfWork", place: str, id_: int) -> ClimateLog:
    return next(log for log in work.climate.logs(place) if log.id == id_)


def _refusals(*checks: tuple[Callable[[float], object], float]) -> Iterable[OutOfRange]:
    for check, value in checks:
        try:
            check(value)
        except OutOfRange as refusal:
            yield refusal
