"""How a cut board's value is shared with its offcuts: chosen once, changed only for days to come."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.ledger import OffcutPolicy
from stockyard.records import retried
from stockyard.records.repositories.workshop import OFFCUT_POLICY

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class PolicyEntry:
    """One dated choice. since: the first day it counts for."""

    policy: OffcutPolicy
    since: date
    at: datetime
    who: str


@dataclass(frozen=True, slots=True)
class PolicyHistory:
    """What counts today, and every choice there was, in the order made. None made: the one a new yard has."""

    today: OffcutPolicy
    entries: tuple[PolicyEntry, ...]


def show_policy(open_work: "OpenWork") -> PolicyHistory:
    """The policy that counts today, and its history."""
    with open_work(reading=True) as work:
        return _history(work)


def choose_policy(open_work: "OpenWork", policy: str, since: date | None = None) -> PolicyHistory:
    """Let boards cut from a day on be shared by another policy. What was cut before keeps its values.

    policy: a word of OffcutPolicy. since: a day to come, tomorrow when None; today too, and by default, while
    nothing was ever cut. Raises BadInput with every fault.
    Source: AASB 102 Inventories (= IAS 2), paragraph 14: allocated on a rational and consistent basis.
    """
    return retried(open_work, lambda work: _choose(work, policy, since))


def _choose(work: "UnitOfWork", policy: str, since: date | None) -> PolicyHistory:
    words = [each.value for each in OffcutPolicy]
    first = work.today + timedelta(days=1) if work.stock.ever_cut() else work.today
    day = since or first
    faults = []
    if policy not in words:
        faults.append(Fault("policy", f"one of {', '.join(words)}", repr(policy)))
    elif work.workshop.offcut_policy_on(day) == policy:
        faults.append(Fault("policy", f"another than the one that counts on {day}", policy))
    if day < first:
        faults.append(Fault("--from", f"{first} or later, so that nothing cut changes its value", str(day)))
    if faults:
        raise BadInput("The policy was not changed.", faults)
    work.workshop.set(OFFCUT_POLICY, policy, effective=day)
    return _history(work)


def _history(work: "UnitOfWork") -> PolicyHistory:
    return PolicyHistory(
        OffcutPolicy(work.workshop.offcut_policy_on(work.today)),
        tuple(
            PolicyEntry(OffcutPolicy(entry.value), entry.effective, entry.at, entry.who)
            for entry in work.workshop.history(OFFCUT_POLICY)
        ),
    )
