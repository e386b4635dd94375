"""Why a panel cannot be made: demands that cannot be met together, and the least that would help.

A set of demands is found that the stock cannot meet, none of which can be left out: with any one of them
given up, the rest can be met. Then each is given way on by itself, no further than needed, and what is told
has a lawful plan behind it. Where the panel could be made alone, the demands are the panels that draw on the
same boards.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from time import monotonic
from typing import TypeVar

from stockyard.selection.answers.feasible import Answer, Feasibility
from stockyard.selection.answers.knobs import Change, Knob, knobs_of, least_step
from stockyard.timber import Job, Panel, Plan, Stock

Thing = TypeVar("Thing")

_TRIED_FIRST = ("clear", "ends", "planing", "rules", "moisture", "spread", "staves", "thickness", "promised")
"""What is given up first when a set is thinned out, so that it ends in the panel's own size and wood."""


@dataclass(frozen=True, slots=True)
class Demanded:
    """One demand of a conflict. what: a word. detail: what it asks."""

    what: str
    detail: str


@dataclass(frozen=True, slots=True)
class Relaxation:
    """Changes with which the panel can be made, none to spare. plan: shows it, without prices."""

    changes: tuple[Change, ...]
    plan: Plan


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why one panel is not made.

    demands: cannot be met together by this stock. proved: is that, and that none can be spared, proved? When
    it is not, no plan was found in the time given. relaxations: smallest first. complete: False where time
    ran out before all were tried.
    """

    panel: str
    demands: tuple[Demanded, ...]
    proved: bool
    relaxations: tuple[Relaxation, ...]
    complete: bool


def conflict_of(stock: Stock, job: Job, panel_id: str, *, seconds: float = 20.0) -> Conflict | None:
    """Why a panel of the job cannot be made beside those of its own and better priority; None when it can.

    seconds: to think at most.
    """
    asking = Feasibility(stock, monotonic() + seconds)
    panel = next(each for each in job.panels if each.id == panel_id)
    alone = replace(job, panels=(panel,))
    first = asking.ask(alone).answer
    if first is Answer.YES:
        return _among_panels(asking, job, panel)
    return _within(asking, alone, panel, proved=first is Answer.NO)


@dataclass(frozen=True)
class _Group:
    """Knobs that make up one demand; `promised` frees the reserved boards instead."""

    what: str
    detail: str
    knobs: tuple[Knob, ...]
    promised: bool = False


def _within(asking: Feasibility, job: Job, panel: Panel, *, proved: bool) -> Conflict:
    everything = replace(asking.stock, reserved={})
    groups = sorted(_groups(everything, job, panel, asking.stock), key=_rank)

    def can(given_up: Sequence[_Group]) -> Answer:
        eased, stock = job, asking.stock
        for group in given_up:
            stock = everything if group.promised else stock
            for knob in group.knobs:
                eased = knob.loosened(eased)
        return asking.ask(eased, stock=stock).answer

    kept, sure = irreducible(groups, lambda held: can([g for g in groups if g not in held]))
    found: list[Relaxation] = []
    for group in kept:
        found += _eased(asking, job, group)
    if not found:
        found += _in_pairs(asking, job, kept, can, groups)
    found.sort(key=lambda each: (len(each.changes), _share(each.changes)))
    return Conflict(
        panel.id,
        tuple(Demanded(group.what, group.detail) for group in kept),
        proved and sure,
        tuple(found),
        not asking.out_of_time,
    )


def irreducible(
    things: Sequence[Thing], can: Callable[[Sequence[Thing]], Answer]
) -> tuple[list[Thing], bool]:
    """Of things that cannot be had together, some that cannot be either, with none to spare.

    can: may these be had together? The flag says whether every answer on the way was certain.
    """
    kept, sure = list(things), True
    for thing in things:
        left = [other for other in kept if other is not thing]
        answer = can(left)
        if answer is not Answer.YES:
            kept, sure = left, sure and answer is Answer.NO
    return kept, sure


def _eased(asking: Feasibility, job: Job, group: _Group) -> Iterable[Relaxation]:
    if group.promised:
        yield from _freed(asking, job)
    for knob in group.knobs:
        found = least_step(knob, job, lambda each: asking.ask(each).answer is Answer.YES)
        if found is None:
            continue
        changed, change = found
        plan = asking.ask(changed).plan
        if plan is not None:
            yield Relaxation((replace(change, detail=f"if {change.detail}"),), plan)


def _freed(asking: Feasibility, job: Job) -> Iterable[Relaxation]:
    """As few boards as can be, of those promised elsewhere, that make the panel once they are free."""
    reserved = asking.stock.reserved

    def without(held: Sequence[str]) -> Stock:
        return replace(asking.stock, reserved={name: reserved[name] for name in held})

    free = list(reserved)
    if asking.ask(job, stock=without([])).answer is not Answer.YES:
        return
    for name in list(free):
        fewer = [other for other in free if other != name]
        held = [each for each in reserved if each not in fewer]
        if asking.ask(job, stock=without(held)).answer is Answer.YES:
            free = fewer
    plan = asking.ask(job, stock=without([each for each in reserved if each not in free])).plan
    if plan is not None:
        changes = (Change("reserved", None, None, free, f"if {', '.join(free)} were free"),)
        yield Relaxation(changes, plan)


def _in_pairs(
    asking: Feasibility,
    job: Job,
    kept: Sequence[_Group],
    can: Callable[[Sequence[_Group]], Answer],
    groups: Sequence[_Group],
) -> Iterable[Relaxation]:
    """Two demands eased together, where no one is enough: the first pair that does, each by the least."""
    for one in kept:
        for other in groups:
            if other is one or one.promised or other.promised or can([one, other]) is not Answer.YES:
                continue
            both = _two_steps(asking, job, one.knobs, other.knobs)
            if both is not None:
                return [both]
    return []


def _two_steps(
    asking: Feasibility, job: Job, ones: Sequence[Knob], others: Sequence[Knob]
) -> Relaxation | None:
    for one in ones:
        for other in others:
            first = least_step(one, job, partial(_yes_with, asking, other))
            if first is None:
                continue
            second = least_step(other, first[0], lambda each: asking.ask(each).answer is Answer.YES)
            plan = None if second is None else asking.ask(second[0]).plan
            if second is not None and plan is not None:
                changes = tuple(replace(c, detail=f"if {c.detail}") for c in (first[1], second[1]))
                return Relaxation(changes, plan)
    return None


def _yes_with(asking: Feasibility, other: Knob, job: Job) -> bool:
    return asking.ask(other.loosened(job)).answer is Answer.YES


def _among_panels(asking: Feasibility, job: Job, panel: Panel) -> Conflict | None:
    """The panels that draw on the same boards, and what would make them all."""
    others = [each for each in job.panels if each is not panel and each.priority <= panel.priority]

    def can(held: Sequence[Panel]) -> Answer:
        return asking.ask(replace(job, panels=(*held, panel))).answer

    whole = can(others)
    if whole is Answer.YES:
        return None
    kept, sure = irreducible(others, can)
    together = replace(job, panels=(*kept, panel))
    found: list[Relaxation] = []
    for each in together.panels:
        for group in _groups(asking.stock, together, each, asking.stock):
            if each is panel or any(knob.panel for knob in group.knobs):
                found += _eased(asking, together, group)
    found.sort(key=lambda each: (len(each.changes), _share(each.changes)))
    return Conflict(
        panel.id,
        tuple(Demanded("panel", each.id) for each in together.panels),
        sure and whole is Answer.NO,
        tuple(found),
        not asking.out_of_time,
    )


def _groups(stock: Stock, job: Job, panel: Panel, held: Stock) -> list[_Group]:
    by_what: dict[str, list[Knob]] = {}
    for knob in knobs_of(stock, job, panel):
        by_what.setdefault(_what(knob), []).append(knob)
    rule = job.moisture
    details = {
        "species": " or ".join(panel.species),
        "length": f"{panel.length_mm:g} mm long",
        "width": f"{panel.width_mm:g} mm wide",
        "thickness": f"{panel.thickness_mm:g} mm thick",
        "staves": f"{panel.staves_min} to {panel.staves_max} staves of {panel.stave_width_min_mm:g} to"
        f" {panel.stave_width_max_mm:g} mm",
        "moisture": f"moisture {rule.min_pct:g} to {rule.max_pct:g} %",
        "spread": f"within {rule.spread_pct:g} % of one another",
        "clear": f"flaws {job.allowances.glue_clear_mm:g} mm clear of glue lines and"
        f" {job.allowances.end_clear_mm:g} mm of ends",
        "ends": f"{job.allowances.board_end_loss_mm:g} mm docked from board ends,"
        f" {job.allowances.end_trim_mm:g} mm trimmed from staves",
        "planing": f"{job.allowances.face_planing_mm:g} mm planed off each face",
    }
    groups = [
        _Group(what, details.get(what, f"the rules for {what.replace('_', ' ')}"), tuple(knobs))
        for what, knobs in by_what.items()
    ]
    if held.reserved:
        groups.append(
            _Group("promised", f"{len(held.reserved)} boards promised elsewhere", (), promised=True)
        )
    return groups


def _what(knob: Knob) -> str:
    parts = knob.setting.split(".")
    if parts[0] == "rules":
        return parts[2]
    if parts[0] == "moisture":
        return "spread" if parts[1] == "spread" else "moisture"
    if parts[0] == "allowances":
        if parts[1].endswith("_clear"):
            return "clear"
        return "planing" if parts[1] == "face_planing" else "ends"
    return "staves" if parts[-2].startswith("stave") else parts[-1]


def _rank(group: _Group) -> int:
    if group.what in _TRIED_FIRST:
        return _TRIED_FIRST.index(group.what)
    if group.what in ("length", "width", "species"):
        return len(_TRIED_FIRST) + ("length", "width", "species").index(group.what)
    return _TRIED_FIRST.index("rules")


def _share(changes: Sequence[Change]) -> float:
    return sum(change.share for change in changes)
