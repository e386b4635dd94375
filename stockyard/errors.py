"""Every error Stockyard raises on purpose.

    StockyardError                   the root; also what the command line prints
    ├── BadInput                     what was given cannot be used; carries every Fault found   (exit 2)
    │   ├── OutOfRange               a figure outside the range its formula was published for
    │   └── NotFound                 no such board, plan, job ...; says what was looked for
    ├── Refused                      a rule of the yard stands in the way                        (exit 3)
    │   ├── AlreadyBooked            the same docket twice
    │   ├── BoardNotFree             a board is promised to, or used by, something else
    │   ├── ChangedMeanwhile         somebody else has changed it since it was read
    │   ├── NotLetIn                 a wrong name or password, or too many tries
    │   ├── PlanOutOfDate            a board is no longer as the plan saw it
    │   ├── StepOpen                 a step that must come first is still open
    │   └── StoreUnusable            the database or its disk will not serve (newer, read-only, full, busy)
    ├── MissingPart                  a library or system package this command needs is not there (exit 3)
    └── Broken                       Stockyard contradicts itself; please report it              (exit 1)

Low rooms raise, only the command line and the web interface translate. Every message is one sentence that
ends with what to do next where something can be done.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input: where it is, what stands there, what was expected there.

    where: a place a person can find again ("row 12, column Width", "boards[3].defects[0].outline").
    """

    where: str
    expected: str
    found: str = ""

    def __str__(self) -> str:
        found = f", found {self.found}" if self.found else ""
        return f"{self.where}: expected {self.expected}{found}"


class StockyardError(Exception):
    """Something Stockyard will not or cannot do, in one sentence."""

    exit_code = 1

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class BadInput(StockyardError):
    """What was given cannot be used. Carries every fault found, not only the first."""

    exit_code = 2

    def __init__(self, message: str, faults: Iterable[Fault] = ()) -> None:
        super().__init__(message)
        self.faults = tuple(faults)

    def __str__(self) -> str:
        return "\n".join([self.message, *(f"  {fault}" for fault in self.faults)])


class OutOfRange(BadInput):
    """A figure lies outside the range its formula or table was published for."""


class NotFound(BadInput):
    """There is nothing of that kind by that name."""

    def __init__(self, kind: str, name: str, near: Iterable[str] = ()) -> None:
        self.kind, self.name, self.near = kind, name, tuple(near)
        hint = f" Did you mean {', '.join(self.near)}?" if self.near else ""
        super().__init__(f"There is no {kind} {name!r}.{hint}")


class Refused(StockyardError):
    """A rule of the yard stands in the way."""

    exit_code = 3


class AlreadyBooked(Refused):
    """This docket of this supplier has been received before."""


class BoardNotFree(Refused):
    """A board is promised to, or used by, something else."""


class ChangedMeanwhile(Refused):
    """Somebody else has changed it since it was read."""


class NotLetIn(Refused):
    """A wrong name or password, or too many of them. wait_minutes: how long to wait; 0 for a wrong one."""

    def __init__(self, message: str, wait_minutes: int = 0) -> None:
        super().__init__(message)
        self.wait_minutes = wait_minutes


class PlanOutOfDate(Refused):
    """A board is no longer as the plan saw it."""


class StepOpen(Refused):
    """A step that has to come first is still open."""


class StoreUnusable(Refused):
    """The database, or the disk it lives on, will not serve."""


class MissingPart(StockyardError):
    """A library or system package that this command needs is not there."""

    exit_code = 3


class Broken(StockyardError):
    """Stockyard contradicts itself. This is our fault, not the user's."""
