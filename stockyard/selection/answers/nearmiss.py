"""The least change that would let a board into a panel, tried before it is told.

A plain shortage (too short, too narrow, too thin, too wet) is measured: the board suits with just so much
more of it and not with a millimetre, or a tenth, less. For flaws the settings that hold them off are
loosened one at a time, each no further than needed; where no single one will do, as few as can be together.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from stockyard.selection.answers.cases import Case
from stockyard.selection.answers.knobs import (
    Change,
    Knob,
    allowance_knobs,
    least_step,
    moisture_knobs,
    rule_knobs,
    size_knobs,
)
from stockyard.selection.answers.obstacles import Lift, standing, without
from stockyard.selection.instance import supply
from stockyard.timber import Board, Job

MOST = 4  # remedies told of one board


@dataclass(frozen=True, slots=True)
class Remedy:
    """Changes that together let the board in, none of which can be spared.

    size: how great they are, summed as shares of what they change.
    """

    changes: tuple[Change, ...]
    size: float


def remedies(case: Case) -> tuple[Remedy, ...]:
    """What would let the case's board in, least first; empty when it suits already or nothing here would.

    Each has been tried: with its changes, and nothing else, there is a lawful place for a stave.
    """
    lifts = standing(case)
    if not lifts or lifts[0].obstacle.why == "panel":
        return ()
    plain = [lift for lift in lifts if lift.obstacle.defect is None]
    changed, changes = case, []
    for lift in plain:
        # Measured with the others lifted, so that each shortage is its own.
        others = [other for other in lifts if other is not lift]
        found = _measured(lift, changed, without(case, others))
        if found is None:
            return ()
        changed, change = found
        changes.append(change)
    if changed.suits():
        return (_remedy(changes),)
    ways = [_remedy([*changes, *way]) for way in _around_flaws(changed, plain) if not _halved(way)]
    return tuple(sorted(ways, key=lambda each: (len(each.changes), each.size))[:MOST])


def _measured(lift: Lift, changed: Case, alone: Case) -> tuple[Case, Change] | None:
    """The case with one plain reason mended by the least that mends it where it stands alone."""
    why = lift.obstacle.why
    if why == "reserved":
        return replace(changed, reserved=None), Change(
            "reserved", None, lift.obstacle.detail, None, "if it were free"
        )
    if why == "species":
        species = (*changed.panel.species, changed.board.species)
        return replace(changed, panel=replace(changed.panel, species=species)), Change(
            f"panels.{changed.panel.id}.species",
            changed.panel.id,
            list(changed.panel.species),
            changed.board.species,
            f"if {changed.board.species} were allowed",
        )
    if why == "moisture":
        return _dry_enough(changed, alone)
    name, step, words = _SHORTAGES[why]
    now = getattr(alone.board, name)
    more = _least_more(lambda amount: alone.with_board(**{name: _more(alone.board, name, amount)}), step)
    if more is None:
        return None
    new = _more(changed.board, name, more)
    return changed.with_board(**{name: new}), Change(
        f"board.{why}", None, now, new, f"{more * step:g} mm {words}"
    )


_SHORTAGES = {
    "length": ("length_mm", 1.0, "too short"),
    "width": ("width_mm", 1.0, "too narrow"),
    "thickness": ("thickness_mm", 0.1, "too thin after flattening"),
}


def _more(board: Board, name: str, steps: int) -> float:
    now = float(getattr(board, name))
    return round(now + steps / 10, 6) if name == "thickness_mm" else float(supply(now) + steps)


def _least_more(case_with: Callable[[int], Case], step: float) -> int | None:
    """The fewest steps more with which the case suits, None when thousands are not enough."""
    high = 1
    while not case_with(high).suits():
        high *= 2
        if high * step > 20_000:
            return None
    low = high // 2 + 1
    while low < high:
        middle = (low + high) // 2
        if case_with(middle).suits():
            high = middle
        else:
            low = middle + 1
    return high


def _dry_enough(changed: Case, alone: Case) -> tuple[Case, Change] | None:
    for knob in moisture_knobs([changed.board], changed.job):
        found = least_step(knob, alone.job, lambda job: replace(alone, job=job).suits())
        if found is not None:
            _, change = found
            job = knob.apply(changed.job, knob.steps[-1])
            return replace(changed, job=job), replace(change, detail=_too_wet(change))
    return None


def _too_wet(change: Change) -> str:
    if change.setting == "moisture.unread":
        return "if boards without a reading were allowed"
    by = round(abs(change.new - change.old), 6)
    return f"{by:g} % too {'wet' if change.setting == 'moisture.max' else 'dry'}"


def _around_flaws(case: Case, plain: Sequence[Lift]) -> list[list[Change]]:
    """Ways of loosening settings so that the flaws let a stave in. plain: what else had to be mended."""
    short = {lift.obstacle.why for lift in plain}
    sizes = [end for end, why in ((".length", "length"), ("stave_width.min", "width")) if why not in short]
    knobs = [
        *rule_knobs(case.instance),
        *(k for k in allowance_knobs(case.job) if k.setting.endswith("_clear")),
        *(k for k in size_knobs(case.panel) if k.setting.endswith(tuple(sizes))),
    ]
    knobs = [knob for knob in knobs if knob.steps]
    single = [found[1] for knob in knobs if (found := least_step(knob, case.job, _suits(case)))]
    names = {change.setting for change in single}
    single = [each for each in single if not any(_part_of(name, each.setting) for name in names)]
    if single:
        return [[_worded(change)] for change in single]
    several = [knob for knob in knobs if knob.setting.startswith(("rules.", "allowances."))]
    names = {knob.setting for knob in several}
    several = [knob for knob in several if not any(_part_of(knob.setting, name) for name in names)]
    together = _together(case, several)
    return [together] if together else []


def _part_of(setting: str, both: str) -> bool:
    """Is `both` two limits of one rule, and `setting` one of the two?"""
    stem, _, limits = both.rpartition(".")
    return "," in limits and setting != both and setting.rpartition(".")[0] == stem


def _together(case: Case, knobs: Sequence[Knob]) -> list[Change]:
    """Settings loosened together, each needed, each no further than needed."""
    kept = list(knobs)
    if not _suits_with(case, kept, case.job):
        return []
    for knob in knobs:
        left = [other for other in kept if other is not knob]
        if _suits_with(case, left, case.job):
            kept = left
    job, changes = case.job, []
    for place, knob in enumerate(kept):
        rest = kept[place + 1 :]
        found = least_step(knob, job, partial(_suits_with, case, rest))
        if found is None:
            return []
        job, change = found
        changes.append(_worded(change))
    return changes


def _suits_with(case: Case, knobs: Sequence[Knob], job: Job) -> bool:
    for knob in knobs:
        job = knob.loosened(job)
    return _suits(case)(job)


def _suits(case: Case) -> Callable[[Job], bool]:
    """Does the case suit under another job? The job holds just its panel."""

    def suits(job: Job) -> bool:
        panel = next(each for each in job.panels if each.id == case.panel.id)
        return replace(case, job=job, panel=panel).suits()

    return suits


def _halved(way: Sequence[Change]) -> bool:
    """Would it make the panel or its staves less than half of what was asked? That is another panel."""
    return any(change.setting.startswith("panels.") and change.share > 0.5 for change in way)


def _worded(change: Change) -> Change:
    return replace(change, detail=f"if {change.detail}")


def _remedy(changes: Sequence[Change]) -> Remedy:
    return Remedy(tuple(changes), sum(change.share for change in changes))
