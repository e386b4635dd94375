"""When each step is done: work inside working hours, waits by the clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from stockyard.errors import BadInput, Fault
from stockyard.prep.cautions import Hazard


@dataclass(frozen=True, slots=True)
class WorkingHours:
    """When the workshop works: from `begins` to `ends` on `weekdays` (Monday is 0), not on `closed` days."""

    begins: time = time(8)
    ends: time = time(16, 30)
    weekdays: frozenset[int] = frozenset(range(5))
    closed: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        if self.begins >= self.ends or not self.weekdays or not self.weekdays <= set(range(7)):
            raise BadInput(
                "These are no working hours.",
                [Fault("working hours", "a beginning before the end, on at least one weekday")],
            )

    def works(self, day: date) -> bool:
        """Is it a working day?"""
        return day.weekday() in self.weekdays and day not in self.closed

    def next_moment(self, at: datetime) -> datetime:
        """`at`, or the next moment at which there is work."""
        day = at.date()
        for _ in range(3660):
            opens, closes = self._bounds(day, at)
            if self.works(day) and at < closes:
                return max(at, opens)
            day += timedelta(days=1)
        raise BadInput("The workshop is closed for ten years.", [Fault("closed days", "an open day")])

    def after_work(self, at: datetime, work: timedelta) -> datetime:
        """When so much work begun at `at` is done, going on the next working day where it must."""
        moment = self.next_moment(at)
        while True:
            closes = self._bounds(moment.date(), moment)[1]
            if work <= closes - moment:
                return moment + work
            work -= closes - moment
            moment = self.next_moment(closes)

    def _bounds(self, day: date, like: datetime) -> tuple[datetime, datetime]:
        zone = like.tzinfo
        return datetime.combine(day, self.begins, zone), datetime.combine(day, self.ends, zone)


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step at the bench.

    minutes: of work; wait_hours: before work on the same thing goes on; why_wait: what for. of: the panel it
    works on; "" for everything, which waits for all before it and which all after it wait for. held_hours:
    how long it also keeps others from beginning, as clamps do while they are on.
    """

    name: str
    does: str
    minutes: float
    wait_hours: float = 0.0
    why_wait: str = ""
    hazards: tuple[Hazard, ...] = ()
    of: str = ""
    held_hours: float = 0.0


@dataclass(frozen=True, slots=True)
class ScheduledStep:
    """A step with its times: begins, ends, and when work on the same thing may go on."""

    step: WorkStep
    begins: datetime
    ends: datetime
    free_at: datetime


def schedule(
    steps: Sequence[WorkStep], start: datetime, hours: WorkingHours | None = None
) -> tuple[ScheduledStep, ...]:
    """The steps in their order from `start`, by one pair of hands.

    Work keeps working hours; waits run day and night, and work on another panel goes on meanwhile.

    Raises BadInput when a time is below 0.
    """
    hours = hours or WorkingHours()
    faults = [
        Fault(step.name, "times of 0 or more", f"{step.minutes:g} min, {step.wait_hours:g} h")
        for step in steps
        if not (0 <= step.minutes < 1e6 and 0 <= step.wait_hours < 1e5 and 0 <= step.held_hours < 1e5)
    ]
    if faults:
        raise BadInput("The steps cannot be scheduled.", faults)
    scheduled = []
    hands = start
    free = {"": start}
    for step in steps:
        waits_for = [free[""], free.get(step.of, start)] if step.of else free.values()
        begins = hours.next_moment(max(hands, *waits_for))
        ends = hours.after_work(begins, timedelta(minutes=step.minutes))
        free[step.of] = ends + timedelta(hours=step.wait_hours)
        hands = ends + timedelta(hours=step.held_hours)
        scheduled.append(ScheduledStep(step, begins, ends, free[step.of]))
    return tuple(scheduled)
