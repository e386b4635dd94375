"""The most panels of each priority, then the least cost: how a model of offers is solved."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby
from time import monotonic

from stockyard.selection.instance import Instance
from stockyard.selection.linear import INFINITY, Answer, Outcome
from stockyard.selection.lines import Lines
from stockyard.selection.master import Master
from stockyard.selection.offers import docked
from stockyard.selection.sections import Docked


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found. bound: no plan that makes as many panels costs less. proved: is it the best?"""

    docked: tuple[Docked, ...]
    bound: float
    proved: bool


def by_priority(instance: Instance, master: Master, deadline: float) -> tuple[Answer, bool]:
    """The answer that makes the most panels of each priority in turn and then costs least.

    The flag says whether the number of panels is proved to be the most.
    """
    model = master.model
    ranked = sorted(instance.demands, key=lambda demand: demand.panel.priority)
    # All of them at once is the common case, and then there is nothing to choose between.
    row = model.add_row(master.made_columns(ranked), low=float(len(ranked)))
    answer = _cheapest(master, deadline)
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
    return _cheapest(master, deadline), complete


def _cheapest(master: Master, deadline: float) -> Answer:
    """The least cost, with joints that form the rows of panels."""
    while True:
        answer = master.model.solve(deadline - monotonic())
        rings = [joints.cut_rings(answer) for joints in master.joints]
        if not any(rings):
            return answer


def docked_of(master: Master, answer: Answer, lines: Mapping[int, Lines]) -> tuple[Docked, ...]:
    """The sections that an answer cuts."""
    return tuple(
        section
        for taken in master.taken(answer)
        for section in docked(lines[taken.offer.timber], taken.offer, taken.more)
    )
