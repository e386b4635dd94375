"""Where the air of the shop, and of the place a piece goes to, takes wood: as logged, or as told by hand."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.moisture.climate import Climate, EmcSpan, span_of
from stockyard.moisture.equilibrium import equilibrium_pct, humidity_from_percent, room_temperature
from stockyard.services.climate_log import climate_of
from stockyard.timber.climate_log import SHOP

if TYPE_CHECKING:
    from stockyard.records import UnitOfWork

RECENT_DAYS = 30
"""The shop's air is that of so many days past: a board answers slowly to its air. A habit, with no source."""

Air = tuple[float, float]
"""Temperature [°C] and relative humidity [percent], as instruments show them."""


@dataclass(frozen=True, slots=True)
class PlaceAir:
    """Where a place's air holds wood. [percent moisture] said: which readings stand behind it."""

    place: str
    emc_pct: float
    said: str


@dataclass(frozen=True, slots=True)
class PlaceYear:
    """What a place's air does to wood over the year. mean_pct: of it; span: its driest and dampest month."""

    place: str
    mean_pct: float
    span: EmcSpan
    said: str


def shop_air(work: "UnitOfWork", by_hand: Air | None = None, until: datetime | None = None) -> PlaceAir:
    """The air that boards stand in: of the month up to `until` (now when None), or the newest there is.

    Raises BadInput when the shop was never logged.
    """
    if by_hand is not None:
        return PlaceAir(SHOP, emc_of(by_hand, "the shop's air"), _told(by_hand))
    climate = _logged(work, SHOP, "--shop-air")
    end = until or work.now + timedelta(seconds=1)
    read = [reading for reading in climate.readings if reading.at < end] or list(climate.readings)
    recent = climate.mean(end - timedelta(days=RECENT_DAYS), end)
    if recent is not None:
        newest = read[-1].at.astimezone(climate.zone).date()
        return PlaceAir(
            climate.place,
            recent.emc_pct,
            f"mean of {recent.temperature_c:.1f} °C and {100 * recent.humidity:.0f} % over the"
            f" {RECENT_DAYS} days to {newest}",
        )
    last = read[-1].at
    old = climate.mean(last - timedelta(days=RECENT_DAYS), last + timedelta(seconds=1))
    assert old is not None
    age = (end - last).days
    told = f"its newest reading is {age} days old; the mean of the {RECENT_DAYS} days before it"
    return PlaceAir(climate.place, old.emc_pct, told)


def destination_air(work: "UnitOfWork", to: str | None, by_hand: Air | None) -> PlaceAir | None:
    """The mean air of the place a piece goes to, or None where neither place nor air is told.

    Raises NotFound for a place that is not logged, BadInput when nothing stands in its log.
    """
    if by_hand is not None:
        return PlaceAir("destination", emc_of(by_hand, "the destination's air"), _told(by_hand))
    if to is None:
        return None
    climate = _logged(work, to, "--to-air")
    return PlaceAir(climate.place, *_mean(climate))


def destination_year(
    work: "UnitOfWork", to: str | None, dry: Air | None, damp: Air | None, year: int
) -> PlaceYear:
    """What the air of the place a panel goes to does over the year.

    Raises BadInput when it is not told, or its log covers no month; NotFound for a place that is not logged.
    """
    if dry is not None and damp is not None:
        span = span_of(_share(dry, "driest air"), _share(damp, "dampest air"), year)
        middle = (span.low_pct + span.high_pct) / 2
        return PlaceYear("destination", middle, span, f"{_told(dry)}, {_told(damp)}")
    if to is None or dry is not None or damp is not None:
        raise BadInput(
            "Where the panel goes is not known: what it does there cannot be told.",
            [Fault("destination", "--to a logged place, or both --dry and --damp such as 22/35")],
        )
    climate = _logged(work, to, "--dry and --damp")
    mean, said = _mean(climate)
    return PlaceYear(climate.place, mean, climate.emc_span(), said)


def emc_of(air: Air, what: str) -> float:
    """The equilibrium of air as instruments show it. [percent] Raises OutOfRange."""
    return equilibrium_pct(*_share(air, what))


def _share(air: Air, what: str) -> Air:
    temperature, humidity = air
    return (
        room_temperature(temperature, f"{what}, temperature"),
        humidity_from_percent(humidity, f"{what}, humidity"),
    )


def _logged(work: "UnitOfWork", place: str, otherwise: str) -> Climate:
    if work.climate.find(place) is None and place == SHOP:
        raise BadInput(
            "The shop's air was never logged, so nothing tells where drying would stop; log it with"
            f" `stockyard climate add {SHOP} 21 55 --zone ...`, or give it with {otherwise}."
        )
    climate = climate_of(work, place)
    if not climate.readings:
        raise BadInput(
            f"Nothing stands in the log of {climate.place}; log its air, or give it with {otherwise}."
        )
    return climate


def _mean(climate: Climate) -> tuple[float, str]:
    """The mean equilibrium of a place's months, each by how much of it was read, and what stands behind."""
    months = climate.monthly()
    weight = sum(month.covered * month.days for month in months)
    mean = sum(month.emc_pct * month.covered * month.days for month in months) / weight
    first, last = _day(climate, 0), _day(climate, -1)
    told = f"{len(climate.readings)} readings, {first} to {last}" if first != last else f"read on {first}"
    seen = {month.first_day.month for month in months}
    if len(seen) < 12:
        told += f"; only {len(seen)} of the year's months"
    return mean, told


def _day(climate: Climate, index: int) -> date:
    return climate.readings[index].at.astimezone(climate.zone).date()


def _told(air: Air) -> str:
    return f"{air[0]:g} °C and {air[1]:g} %"
