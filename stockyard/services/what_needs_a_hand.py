"""What needs a hand today: boards to measure and photograph, what waits for a word, plans that have aged."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stockyard.errors import BadInput
from stockyard.services.judge_ready import JudgedBoard, judge_ready
from stockyard.timber.booked_plan import PlanHead, PlanStatus
from stockyard.timber.errand import Errand, ErrandState
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery, RackTotals
from stockyard.timber.step import Step, StepState
from stockyard.timber.stocktake import Stocktake

if TYPE_CHECKING:
    from stockyard.records import OpenWork

UNREAD = RackQuery(
    kinds=(PieceKind.BOARD, PieceKind.OFFCUT),
    status=(PieceStatus.FREE, PieceStatus.PROMISED),
    unread=True,
)
"""Pieces that nobody has held a meter to."""

_JUDGED = 300
"""So many boards of plans are judged for the day's list; more than a bench cuts in a week."""


@dataclass(frozen=True, slots=True)
class ChangedPlan:
    """A plan that was made from boards as they no longer are, and which those are."""

    plan: PlanHead
    boards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """The day as it lies before the workshop.

    unread, bare: how many pieces were never read, and boards with a face never photographed. suggested: how
    many suggestions wait on each board. ready, not_ready: boards of plans that stand; no_air: why they cannot
    be judged, "" where they can. proposed: plans nobody has acted on whose boards still stand as
    they saw them. waiting: jobs without any plan that stands. steps: open ones of allocated plans.
    """

    stock: RackTotals
    currency: str
    unread: int
    bare: int
    suggested: Mapping[str, int]
    proposed: tuple[PlanHead, ...]
    changed: tuple[ChangedPlan, ...]
    allocated: tuple[PlanHead, ...]
    waiting: tuple[str, ...]
    steps: tuple[Step, ...]
    counts: tuple[Stocktake, ...]
    errands: tuple[Errand, ...]
    ready: int = 0
    not_ready: tuple[JudgedBoard, ...] = ()
    no_air: str = ""


def what_needs_a_hand(open_work: "OpenWork") -> Today:
    """The day's list, from one look at the books."""
    with open_work(reading=True) as work:
        version = work.jobs.versions()
        newest: dict[str, PlanHead] = {}
        for plan in work.plans.heads(PlanStatus.PROPOSED):
            if plan.job_version == version.get(plan.job):
                newest[plan.job] = plan
        allocated = tuple(work.plans.heads(PlanStatus.ALLOCATED))
        cut = {plan.job for plan in work.plans.heads(PlanStatus.CUT)}
        standing = work.pieces.versions({number for plan in newest.values() for number in plan.seen})
        changed = tuple(
            ChangedPlan(plan, moved)
            for plan in newest.values()
            if (moved := tuple(n for n, seen in plan.seen.items() if standing[n] != seen))
        )
        outdated = {each.plan.number for each in changed}
        served = cut | {plan.job for plan in allocated}
        proposed = tuple(
            plan for plan in newest.values() if plan.number not in outdated and plan.job not in served
        )
        wanted = sorted({number for plan in (*proposed, *allocated) for number in plan.seen})
        found = Today(
            stock=work.rack.totals(RackQuery()),
            currency=work.workshop.currency,
            unread=work.pieces.count(UNREAD),
            bare=work.photos.count_bare(),
            suggested=work.suggestions.waiting(),
            proposed=proposed,
            changed=tuple(each for each in changed if each.plan.job not in served),
            allocated=allocated,
            waiting=tuple(name for name in version if name not in served and name not in newest),
            steps=tuple(
                step
                for plan in allocated
                for step in work.steps.find(plan=plan.number)
                if step.state is StepState.OPEN
            ),
            counts=tuple(each for each in work.stocktakes.all() if each.is_open),
            errands=work.errands.find(states=(ErrandState.WAITING, ErrandState.RUNNING)),
        )
    judged, no_air = _judged(open_work, wanted[:_JUDGED])
    waiting = tuple(each for each in judged if not each.readiness.ready)
    return replace(found, ready=len(judged) - len(waiting), not_ready=waiting, no_air=no_air)


def _judged(open_work: "OpenWork", numbers: list[str]) -> tuple[tuple[JudgedBoard, ...], str]:
    """These boards judged for the shop's own air, or why they cannot be."""
    if not numbers:
        return (), ""
    try:
        return judge_ready(open_work, numbers).boards, ""
    except BadInput as refused:
        return (), refused.message
