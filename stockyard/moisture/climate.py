"""The air of a place over time: the workshop's, or the room a piece will live in.

Means are weighted by time, so that a logger that sampled oftener for a week does not bend the year. Wood
follows the mean of the equilibrium, not the equilibrium of the means, so that is what is averaged.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from stockyard.errors import BadInput, Fault, OutOfRange
from stockyard.moisture.equilibrium import COLDEST_C, DAMPEST, DRIEST, equilibrium_pct, room_temperature


@dataclass(frozen=True, slots=True, order=True)
class AirReading:
    """Temperature and humidity at a moment. at: with its zone. temperature_c: [°C]. humidity: above 0, to 1.

    Raises OutOfRange for air that no workshop or house has.
    """

    at: datetime
    temperature_c: float
    humidity: float

    def __post_init__(self) -> None:
        room_temperature(self.temperature_c)
        if not 0 < self.humidity <= 1:
            raise OutOfRange(
                "The humidity is no share of 1.",
                [Fault("humidity", "a share above 0 and up to 1 (50 % is 0.5)", f"{self.humidity:g}")],
            )


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without readings."""

    since: datetime
    until: datetime

    @property
    def length(self) -> timedelta:
        """How long it lasted."""
        return self.until - self.since


@dataclass(frozen=True, slots=True)
class AirMean:
    """The air over a day, a month or a season.

    first_day, days: what it covers. covered: the share of that time which readings stand for, 0..1.
    """

    first_day: date
    days: int
    temperature_c: float
    humidity: float
    emc_pct: float
    covered: float


@dataclass(frozen=True, slots=True)
class EmcSpan:
    """The driest and dampest monthly means of a climate. whole_year: do the means cover twelve months?"""

    low_pct: float
    high_pct: float
    low_month: date
    high_month: date
    whole_year: bool
    note: str = ""


def span_of(dry_air: tuple[float, float], damp_air: tuple[float, float], year: int) -> EmcSpan:
    """The span between two airs given by hand, such as a heated winter and a damp summer.

    dry_air, damp_air: (temperature [°C], humidity 0..1), in either order. The months are not known and stand
    as January of `year`. Raises OutOfRange.
    """
    low, high = sorted(equilibrium_pct(*air) for air in (dry_air, damp_air))
    month = date(year, 1, 1)
    return EmcSpan(low, high, month, month, False, "Given by hand as two airs; the months are not known.")


class Climate:
    """Air readings of one place in order of time.

    place: "workshop", or a client's room. zone: in whose days and months means are taken.
    longest_hold: how long a reading stands for the air around it; a longer silence is a gap.
    Raises BadInput when two readings are of the same moment, or one has no zone.
    """

    def __init__(
        self,
        place: str,
        readings: Iterable[AirReading],
        zone: str,
        longest_hold: timedelta = timedelta(hours=36),
    ) -> None:
        self.place = place
        self.zone = ZoneInfo(zone)
        self.longest_hold = longest_hold
        given = tuple(readings)
        faults = [
            Fault(f"reading at {r.at.isoformat()}", "a time with its zone")
            for r in given
            if r.at.tzinfo is None
        ]
        if faults:
            raise BadInput("A climate needs times that mean one moment.", faults)
        # Within one zone Python compares wall clocks, which errs when the clock is turned; UTC does not.
        self.readings = tuple(sorted(replace(reading, at=reading.at.astimezone(UTC)) for reading in given))
        faults = [
            Fault("climate", "one reading for each moment", f"two at {b.at.isoformat()}")
            for a, b in pairwise(self.readings)
            if a.at == b.at
        ]
        if faults:
            raise BadInput("The same moment was read twice.", faults)

    def gaps(self) -> tuple[Gap, ...]:
        """Every silence longer than a reading stands for."""
        return tuple(Gap(a.at, b.at) for a, b in pairwise(self.readings) if b.at - a.at > self.longest_hold)

    def daily(self) -> tuple[AirMean, ...]:
        """The mean of each day that has readings, in order."""
        return self._means(lambda day: day, lambda day: day + timedelta(days=1))

    def monthly(self) -> tuple[AirMean, ...]:
        """The mean of each calendar month that has readings, in order."""
        return self._means(
            lambda day: day.replace(day=1),
            lambda first: (first.replace(day=28) + timedelta(days=4)).replace(day=1),
        )

    def seasonal(self) -> tuple[AirMean, ...]:
        """The mean of each quarter that has readings: December to February, March to May, and so on."""

        def first_of(day: date) -> date:
            month = day.month // 3 * 3 or 12
            return date(day.year - (day.month < 3), month, 1)

        return self._means(first_of, lambda first: first_of(first + timedelta(days=93)))

    def mean(self, since: datetime, until: datetime) -> AirMean | None:
        """The mean of the air from `since` to `until`, or None where nothing was read."""
        inside = [(r, s) for r, s in self._weights() if since <= r.at < until]
        if not inside or sum(s for _, s in inside) == 0:
            return None
        length = (until - since).total_seconds()
        return _mean(since.astimezone(self.zone).date(), length, inside)

    def emc_span(self, least_cover: float = 0.5) -> EmcSpan:
        """The driest and dampest months, from those that readings cover by `least_cover` or more.

        A climate shorter than a year has a narrower span than the year; the note then says so.
        Raises BadInput when no month is covered well enough.
        """
        months = [month for month in self.monthly() if month.covered >= least_cover]
        if not months:
            raise BadInput(
                f"The climate of {self.place} covers no month by {least_cover:.0%}; log it longer, or give"
                " its driest and dampest air by hand."
            )
        low, high = min(months, key=lambda m: m.emc_pct), max(months, key=lambda m: m.emc_pct)
        whole = len({month.first_day.month for month in months}) == 12
        note = "" if whole else f"Only {len(months)} months are covered; the year's span is wider."
        return EmcSpan(low.emc_pct, high.emc_pct, low.first_day, high.first_day, whole, note)

    def _weights(self) -> Iterator[tuple[AirReading, float]]:
        """Each reading with the seconds it stands for: half way to each neighbour, never across a gap."""
        reach = self.longest_hold.total_seconds() / 2
        times = [reading.at.timestamp() for reading in self.readings]
        usual = _usual_step(times)
        for index, reading in enumerate(self.readings):
            before = (times[index] - times[index - 1]) / 2 if index else usual / 2
            after = (times[index + 1] - times[index]) / 2 if index + 1 < len(times) else usual / 2
            yield (
                reading,
                sum(half if half <= reach else min(usual / 2, reach) for half in (before, after)),
            )

    def _means(
        self, first_of: Callable[[date], date], next_of: Callable[[date], date]
    ) -> tuple[AirMean, ...]:
        periods: dict[date, list[tuple[AirReading, float]]] = {}
        for reading, seconds in self._weights():
            first = first_of(reading.at.astimezone(self.zone).date())
            periods.setdefault(first, []).append((reading, seconds))
        return tuple(
            _mean(first, (next_of(first) - first).total_seconds(), inside)
            for first, inside in sorted(periods.items())
        )


def _mean(first: date, length_s: float, inside: list[tuple[AirReading, float]]) -> AirMean:
    whole = sum(seconds for _, seconds in inside)
    weights = [(reading, seconds / whole if whole else 1 / len(inside)) for reading, seconds in inside]
    return AirMean(
        first,
        max(1, round(length_s / 86_400)),
        sum(reading.temperature_c * share for reading, share in weights),
        sum(reading.humidity * share for reading, share in weights),
        sum(_emc(reading) * share for reading, share in weights),
        min(1.0, whole / length_s),
    )


def _emc(reading: AirReading) -> float:
    # An hour of fog or frost is held at the edge of the equation's range: left out, it would dry the mean.
    return equilibrium_pct(max(reading.temperature_c, COLDEST_C), min(max(reading.humidity, DRIEST), DAMPEST))


def _usual_step(times: list[float]) -> float:
    """The middle of the steps between readings; a day where there is but one reading. [s]"""
    steps = sorted(b - a for a, b in pairwise(times))
    return steps[len(steps) // 2] if steps else 86_400.0
