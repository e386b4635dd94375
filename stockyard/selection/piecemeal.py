"""Many panels a few at a time: a plan for each few from the boards left, then few by few made better.

Panels that share boards are tied together; what is taken up again is always whole ties, so that everything
else stays as it is.
"""

from collections.abc import Callable, Iterable, Sequence
from random import Random

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.result import counted_cost
from stockyard.selection.sections import Docked

FEW = 3  # panels at a time
MOST_TIED = 5  # panels taken up again at once

Solve = Callable[[Sequence[Demand], frozenset[int]], tuple[Docked, ...]]
"""A plan of these panels that leaves these boards alone; nothing when none was found."""


def in_pieces(demands: Sequence[Demand], solve: Solve, go_on: Callable[[], bool]) -> tuple[Docked, ...]:
    """A plan of the panels, the hardest first, a few at a time; those that cannot be made so are left out."""
    order = sorted(demands, key=lambda d: (d.panel.priority, -d.rough_length * d.width, d.index))
    docked: tuple[Docked, ...] = ()
    for few in (FEW, 1, 1):
        made = panels_of(docked)
        wanting = [demand for demand in order if demand.index not in made]
        for first in range(0, len(wanting), few):
            if not go_on():
                return docked
            docked += solve(wanting[first : first + few], boards_of(docked))
    return docked


def bettered(
    instance: Instance,
    wanted: Sequence[Demand],
    docked: tuple[Docked, ...],
    solve: Solve,
    go_on: Callable[[], bool],
    found: Callable[[tuple[Docked, ...]], None],
) -> tuple[Docked, ...]:
    """The plan after a few ties at a time have been planned anew, while time allows.

    wanted: all panels, those not made among them. found: told each better plan.
    """
    draw = Random(1)
    while go_on():
        made = panels_of(docked)
        ties = [*tied(docked), *([demand.index] for demand in wanted if demand.index not in made)]
        if len(ties) < 2:
            break
        draw.shuffle(ties)
        taken: list[int] = []
        for panels in ties:
            if not taken or len(taken) + len(panels) <= MOST_TIED:
                taken += panels
        demands = [instance.demands[index] for index in sorted(taken)]
        kept = tuple(s for s in docked if not any(lying.fit.demand.index in taken for lying in s.staves))
        before = tuple(s for s in docked if s not in kept)
        new = solve(demands, boards_of(kept))
        more = panels_of(new) - panels_of(before)
        cheaper = counted_cost(instance, new) < counted_cost(instance, before) - 1e-6
        if panels_of(new) >= panels_of(before) and (more or cheaper):
            docked = kept + new
            found(docked)
    return docked


def tied(docked: Iterable[Docked]) -> list[list[int]]:
    """The panels by index, those together that share a board or are tied by others."""
    by_board: dict[int, set[int]] = {}
    for section in docked:
        by_board.setdefault(section.timber, set()).update(lying.fit.demand.index for lying in section.staves)
    ties: list[set[int]] = []
    for panels in by_board.values():
        apart = [tie for tie in ties if not tie & panels]
        ties = [*apart, panels.union(*(tie for tie in ties if tie & panels))]
    return [sorted(tie) for tie in ties]


def boards_of(docked: Iterable[Docked]) -> frozenset[int]:
    """The boards cut."""
    return frozenset(section.timber for section in docked)


def panels_of(docked: Iterable[Docked]) -> set[int]:
    """The panels that have staves."""
    return {lying.fit.demand.index for section in docked for lying in section.staves}
