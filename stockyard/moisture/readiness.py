"""May this board be used today? If not: why not, and when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from stockyard.moisture.drying import DatedMoisture, DryingCurve, NoCurve, fit_drying


@dataclass(frozen=True, slots=True)
class ReadyRule:
    """When a board counts as ready. [percent, days]

    min_pct, max_pct: what the job allows; None does not bind. within_pct: of the place the piece goes to
    (2 points: G. Wengert, Woodworking 101, woodweb.com). spread_pct: between the staves of one panel, and
    newest_days: how old the newest reading may be: both are the workshop's habits, with no source.
    """

    min_pct: float | None = None
    max_pct: float | None = None
    within_pct: float = 2.0
    spread_pct: float = 2.0
    newest_days: int = 30


@dataclass(frozen=True, slots=True)
class Readiness:
    """Whether a board may be used, and if not why not and when.

    why_not: one sentence for each reason; none when ready. ready_on: by the fitted curve; earliest and
    latest: by the edges of its band; None where the curve, the air or the rule gives no such day.
    """

    ready: bool
    percent: float | None
    why_not: tuple[str, ...]
    low_pct: float
    high_pct: float
    ready_on: date | None = None
    earliest: date | None = None
    latest: date | None = None
    curve: DryingCurve | None = None
    note: str = ""


def board_readiness(
    readings: Sequence[DatedMoisture],
    *,
    shop_emc_pct: float,
    destination_emc_pct: float,
    today: date,
    rule: ReadyRule | None = None,
) -> Readiness:
    """Is a board ready for a piece that goes to a place of that equilibrium? [percent]

    readings: corrected, of this board; those without a percentage are left out by the caller.
    shop_emc_pct: of the air the board stands in now, where drying would take it.
    """
    rule = rule or ReadyRule()
    low = max(destination_emc_pct - rule.within_pct, rule.min_pct if rule.min_pct is not None else 0.0)
    high = min(destination_emc_pct + rule.within_pct, rule.max_pct if rule.max_pct is not None else 100.0)
    if low > high:
        why = (
            f"The job allows {_limit(rule.min_pct)} to {_limit(rule.max_pct)} %, and the destination needs"
            f" {destination_emc_pct - rule.within_pct:.1f} to {destination_emc_pct + rule.within_pct:.1f} %."
        )
        return Readiness(False, _newest(readings), (why,), low, high)
    if not readings:
        return Readiness(False, None, ("It has no moisture reading that could be corrected.",), low, high)
    newest = max(readings, key=lambda reading: reading.on)
    why_not = []
    if newest.percent > high:
        why_not.append(f"{newest.percent:.1f} % is above {high:.1f} %.")
    if newest.percent < low:
        why_not.append(f"{newest.percent:.1f} % is below {low:.1f} %.")
    age = (today - newest.on).days
    if age > rule.newest_days:
        why_not.append(f"Its newest reading is {age} days old; read it again.")
    if low <= newest.percent <= high:
        return Readiness(not why_not, newest.percent, tuple(why_not), low, high)
    target = high if newest.percent > high else low
    reachable = shop_emc_pct < target if newest.percent > high else shop_emc_pct > target
    if not reachable:
        way = "down" if newest.percent > high else "up"
        why_not.append(
            f"The shop's air holds wood at {shop_emc_pct:.1f} %, so it will not come {way} to {target:.1f} %."
        )
        return Readiness(False, newest.percent, tuple(why_not), low, high)
    curve = fit_drying(readings, shop_emc_pct)
    if isinstance(curve, NoCurve):
        note = f"No date: {curve.why}."
        return Readiness(False, newest.percent, tuple(why_not), low, high, note=note)
    falling = newest.percent > high
    on = curve.reaches(target)
    earliest = curve.reaches(target, -1 if falling else 1)
    latest = curve.reaches(target, 1 if falling else -1)
    note = "" if latest else "The readings are too few or too scattered to give a latest day."
    return Readiness(
        False,
        newest.percent,
        tuple(why_not),
        low,
        high,
        max(on, today) if on else None,
        max(earliest, today) if earliest else None,
        max(latest, today) if latest else None,
        curve,
        note,
    )


@dataclass(frozen=True, slots=True)
class PanelReadiness:
    """Whether the boards of one panel may be glued to each other for that place."""

    ready: bool
    spread_pct: float | None
    from_destination_pct: float | None
    why_not: tuple[str, ...]


def panel_readiness(
    moistures: Mapping[str, float | None], destination_emc_pct: float, rule: ReadyRule | None = None
) -> PanelReadiness:
    """May these staves be glued together? [percent]

    moistures: newest corrected moisture content by board; None where not known. The spread is the greatest
    less the least of those known; from_destination the greatest difference from the place's equilibrium.
    """
    rule = rule or ReadyRule()
    known = {board: percent for board, percent in moistures.items() if percent is not None}
    why_not = [f"{board} has no reading." for board in moistures if board not in known]
    if not known:
        return PanelReadiness(False, None, None, tuple(why_not) or ("There is no stave.",))
    wet, dry = max(known, key=lambda b: known[b]), min(known, key=lambda b: known[b])
    spread = known[wet] - known[dry]
    if spread > rule.spread_pct:
        why_not.append(
            f"{wet} at {known[wet]:.1f} % and {dry} at {known[dry]:.1f} % are {spread:.1f} points apart;"
            f" {rule.spread_pct:g} are allowed."
        )
    furthest = max(known, key=lambda board: abs(known[board] - destination_emc_pct))
    difference = known[furthest] - destination_emc_pct
    if abs(difference) > rule.within_pct:
        why_not.append(
            f"{furthest} at {known[furthest]:.1f} % is {abs(difference):.1f} points"
            f" {'above' if difference > 0 else 'below'} the destination's {destination_emc_pct:.1f} %."
        )
    return PanelReadiness(not why_not, spread, difference, tuple(why_not))


def _newest(readings: Sequence[DatedMoisture]) -> float | None:
    return max(readings, key=lambda reading: reading.on).percent if readings else None


def _limit(value: float | None) -> str:
    return "any" if value is None else f"{value:g}"
