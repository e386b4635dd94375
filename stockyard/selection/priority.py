"""The most panels of each priority, then the least cost: how a model of offers is solved."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from time import monotonic

from stockyard.selection.linear import INFINITY, Answer, Outcome
from stockyard.selection.master import Master, Taken
from stockyard.selection.offers import docked
from stockyard.selection.sections import Docked


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found. bound: no plan that makes as many panels costs less. proved: is it the best?"""

    docked: tuple[Docked, ...]
    bound: float
    proved: bool


def by_priority(
    master: Master, deadline: float, start: Mapping[int, float] | None = None
) -> tuple[Answer, bool]:
    """The answer that makes the most panels of each priority in turn and then costs least.

    start: values of some columns to begin from, where all panels are made. The flag says whether the number
    of panels is proved to be the most.
    """
    model = master.model
    ranked = sorted(master.demands, key=lambda demand: demand.panel.priority)
    # All of them at once is the common case, and then there is nothing to choose between.
    row = model.add_row(master.made_columns(ranked), low=float(len(ranked)))
    answer = cheapest(master, deadline, start)
    if answer.outcome is not Outcome.IMPOSSIBLE:
        return answer, True
    model.row_lows[row] = -INFINITY
    complete = True
    for _, group in groupby(ranked, key=lambda demand: demand.panel.priority):
        made = master.made_columns(list(group))
        model.costs = [0.0] * len(model.costs)
        for column in made:
            model.costs[column] = -1.0
        answer = model.solve(deadline - monotonic())
        if answer.values is None:
            return answer, False
        complete = complete and answer.outcome is Outcome.PROVED
        model.add_row(made, low=float(round(-answer.objective)))
    model.costs = list(master.costs)
    return cheapest(master, deadline), complete


def cheapest(master: Master, deadline: float, start: Mapping[int, float] | None = None) -> Answer:
    """The least cost, with joints that form the rows of panels."""
    while True:
        answer = master.model.solve(deadline - monotonic(), start=start)
        rings = [joints.cut_rings(answer) for joints in master.joints]
        if not any(rings):
            return answer


def docked_of(taken: Iterable[Taken]) -> tuple[Docked, ...]:
    """The sections that these offers cut; none where one of them cannot be cut."""
    cut = [docked(one.offer, one.more) for one in taken]
    return tuple(section for sections in cut for section in sections) if all(cut) else ()
