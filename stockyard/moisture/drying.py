"""How a board dries: readings over time, an exponential approach to the air's equilibrium, and its band.

    moisture(t) = E + (M0 - E) exp(-k t)

E is the equilibrium of the air the board stands in; M0 and k are fitted. It is the simplest curve that ends
where it must: good for air-dried stock below fibre saturation, blind to seasons and to a change of place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, isfinite, log, sqrt

import numpy as np

from stockyard.errors import BadInput, Fault

METER_SD_PCT = 1.0
"""A meter is within about 2 points for one piece (a Swedish trade body, as quoted in a public fact sheet),
taken here as two standard deviations."""

FIBRE_SATURATION_PCT = 30.0
"""Above it wood loses free water by another law (Wood Handbook, chapter 4: about 30 % on average)."""

LONGEST_DAYS = 3650


@dataclass(frozen=True, slots=True)
class DatedMoisture:
    """A corrected moisture content of a board on a day. [percent]"""

    on: date
    percent: float


@dataclass(frozen=True, slots=True)
class DryingCurve:
    """A fitted curve. emc_pct: where it ends. start_pct: on `since`. rate: per day, > 0.

    covariance: of (start_pct, log rate). band: how many standard deviations the band is wide to each side.
    """

    since: date
    emc_pct: float
    start_pct: float
    rate_per_day: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    band: float
    readings: int

    @property
    def half_life_days(self) -> float:
        """The days in which half of what is left to go is gone."""
        return log(2) / self.rate_per_day

    def at(self, on: date) -> float:
        """Moisture content on a day. [percent]"""
        return self._at((on - self.since).days)

    def between(self, on: date) -> tuple[float, float]:
        """The lower and upper edge of the band for the true moisture content on a day. [percent]"""
        days = (on - self.since).days
        spread = self.band * self._sd(days)
        return self._at(days) - spread, self._at(days) + spread

    def reaches(self, target_pct: float, edge: int = 0) -> date | None:
        """The first day at or past the target, for the curve (edge 0) or an edge of its band (-1, +1).

        None when ten years do not bring it there.
        """
        falling = self.start_pct > self.emc_pct
        for days in range(LONGEST_DAYS):
            value = self._at(days) + edge * self.band * self._sd(days)
            if value <= target_pct if falling else value >= target_pct:
                return self.since + timedelta(days=days)
        return None

    def _at(self, days: float) -> float:
        return self.emc_pct + (self.start_pct - self.emc_pct) * exp(-self.rate_per_day * days)

    def _sd(self, days: float) -> float:
        left = exp(-self.rate_per_day * days)
        by_log_rate = -(self.start_pct - self.emc_pct) * self.rate_per_day * days * left
        (a, b), (_, c) = self.covariance
        return sqrt(max(0.0, left * left * a + 2 * left * by_log_rate * b + by_log_rate * by_log_rate * c))


@dataclass(frozen=True, slots=True)
class NoCurve:
    """Why no curve can be drawn through the readings."""

    why: str


def fit_drying(
    readings: Sequence[DatedMoisture],
    emc_pct: float,
    *,
    meter_sd_pct: float = METER_SD_PCT,
    confidence: float = 0.9,
) -> DryingCurve | NoCurve:
    """The drying curve through a board's readings, or why there is none.

    readings: corrected, of one board in one place, on three days or more. emc_pct: of the air there.
    meter_sd_pct: a reading's standard deviation; the scatter of the readings widens the band when it is
    greater, and never narrows it. confidence: of the band, 0 < it < 1; 0.9 is the workshop's habit.
    A NoCurve is returned when readings are too few, do not move, or move away from the equilibrium.
    Raises BadInput for figures that are no moisture content.
    """
    # Loaded here: the rest of the room is wanted where scipy's start-up is not.
    from scipy.optimize import curve_fit
    from scipy.stats import t as student

    faults = [
        Fault(f"reading of {reading.on}", "a moisture content above 0 %", f"{reading.percent:g}")
        for reading in readings
        if not (isfinite(reading.percent) and reading.percent > 0)
    ]
    if faults:
        raise BadInput("The readings give no curve.", faults)
    used = sorted((r for r in readings if r.percent <= FIBRE_SATURATION_PCT), key=lambda r: r.on)
    days_read = {reading.on for reading in used}
    if len(days_read) < 3:
        return NoCurve(f"readings of {len(days_read)} days below fibre saturation; a curve needs three")
    since = used[0].on
    days = np.array([(reading.on - since).days for reading in used], dtype=float)
    percent = np.array([reading.percent for reading in used])
    to_go = percent - emc_pct
    if np.abs(to_go).max() < 2 * meter_sd_pct:
        return NoCurve("the board is as near to equilibrium as a meter can tell")
    direction = 1.0 if to_go[0] > 0 else -1.0
    slope = float(np.polyfit(days, percent, 1)[0])
    if slope * direction >= 0:
        return NoCurve("the readings do not move towards equilibrium")

    def curve(t: np.ndarray, start: float, log_rate: float) -> np.ndarray:
        """The model, for the fit."""
        return np.asarray(emc_pct + (start - emc_pct) * np.exp(-np.exp(log_rate) * t))

    first_guess = (
        float(percent[0]),
        log(min(1.0, max(1e-5, -slope * direction / max(abs(float(to_go[0])), 0.5)))),
    )
    lowest, highest = log(1e-6), log(2.0)
    try:
        fitted, covariance = curve_fit(
            curve,
            days,
            percent,
            p0=first_guess,
            sigma=np.full(len(used), meter_sd_pct),
            absolute_sigma=True,
            bounds=([0.0, lowest], [2 * FIBRE_SATURATION_PCT, highest]),
        )
    except RuntimeError:
        return NoCurve("no exponential approach fits the readings")
    start, log_rate = float(fitted[0]), float(fitted[1])
    if not np.isfinite(covariance).all() or not lowest + 0.1 < log_rate < highest - 0.1:
        return NoCurve("the readings do not tell how fast the board dries")
    freedom = len(used) - 2
    scatter = float((((percent - curve(days, start, log_rate)) / meter_sd_pct) ** 2).sum()) / freedom
    covariance = covariance * max(1.0, scatter)
    # Readings no better than the meter's own error are judged by the normal law, worse ones by Student's.
    worse = scatter > 1.0
    band = float(student.ppf((1 + confidence) / 2, freedom if worse else 1_000))
    return DryingCurve(
        since,
        emc_pct,
        start,
        exp(log_rate),
        (
            (float(covariance[0, 0]), float(covariance[0, 1])),
            (float(covariance[1, 0]), float(covariance[1, 1])),
        ),
        band,
        len(used),
    )
