"""An errand: long work, such as a selection, that is done while nobody has to wait at the page."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any


class ErrandState(StrEnum):
    """Where an errand stands."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    DROPPED = "dropped"


class Stop(StrEnum):
    """What was asked of an errand under way: to go on, to end with the best so far, or to leave nothing."""

    NO = ""
    KEEP = "keep"
    DROP = "drop"


@dataclass(frozen=True, slots=True)
class Errand:
    """One errand as it stands.

    kind: which work ("select"). wanted: what it was asked to do, plain JSON. progress, result: as its kind
    says; None before there is any. complaint: problem of a failed one, as {"message", "faults"}.
    attempts: how often it was begun; more than once when a server ended half-way.
    """

    id: int
    kind: str
    wanted: Mapping[str, Any]
    state: ErrandState = ErrandState.WAITING
    stop: Stop = Stop.NO
    progress: Mapping[str, Any] | None = None
    result: Mapping[str, Any] | None = None
    complaint: Mapping[str, Any] | None = None
    attempts: int = 0
    at: datetime | None = None
    who: str = ""
    begun: datetime | None = None
    ended: datetime | None = None
    attached: tuple[str, ...] = field(default_factory=tuple)

    @property
    def over(self) -> bool:
        """Will nothing more come of it?"""
        return self.state in (ErrandState.DONE, ErrandState.FAILED, ErrandState.DROPPED)
