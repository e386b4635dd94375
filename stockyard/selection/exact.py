"""The exact search for stocks small enough to list every option of every board."""

from dataclasses import dataclass
from itertools import groupby
from time import monotonic

from stockyard.selection.cells import Fit, fits
from stockyard.selection.cuttings import Cuttings, Docked
from stockyard.selection.instance import Instance, Timber
from stockyard.selection.linear import INFINITY, Answer, Outcome
from stockyard.selection.master import Master
from stockyard.selection.offers import offers_of
from stockyard.selection.sections import Sections


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found. bound: no plan that makes as many panels costs less. proved: is it the best?"""

    docked: tuple[Docked, ...]
    bound: float
    proved: bool


class Exact:
    """One search over all options of an instance."""

    def __init__(self, instance: Instance, deadline: float) -> None:
        self.instance, self.deadline = instance, deadline
        self.ways: dict[int, tuple[Fit, ...]] = {
            timber.index: tuple(fit for demand in instance.demands for fit in fits(instance, timber, demand))
            for timber in instance.timbers
        }

    def search(self) -> Found:
        """The best plan, proved unless time ran out."""
        cuttings = {
            timber.index: self._cuttings(timber)
            for timber in self.instance.timbers
            if self.ways[timber.index]
        }
        offers = [offer for theirs in cuttings.values() for offer in offers_of(theirs)]
        if not offers:
            return Found((), 0.0, True)
        master = Master(self.instance, offers)
        answer, complete = self._by_priority(master)
        if answer.values is None:
            return Found((), 0.0, answer.outcome is Outcome.IMPOSSIBLE and complete)
        docked: list[Docked] = []
        for taken in master.taken(answer):
            offer, place = taken.offer, list(taken.offer.place)
            place[offer.grows] += taken.more
            docked += cuttings[offer.timber].docked(offer.content, tuple(place))
        return Found(tuple(docked), answer.bound, complete and answer.outcome is Outcome.PROVED)

    def _cuttings(self, timber: Timber) -> Cuttings:
        sections = Sections(self.instance, timber, self.ways[timber.index])
        return Cuttings(sections, sections.spans())

    def _left(self) -> float:
        return self.deadline - monotonic()

    def _by_priority(self, master: Master) -> tuple[Answer, bool]:
        """The most panels of each priority in turn, then the least cost. Was every step proved?"""
        model = master.model
        by_priority = sorted(self.instance.demands, key=lambda d: d.panel.priority)
        complete = True
        every = sum(1 for _ in by_priority)
        rows_before = master.made_columns(by_priority)
        # All of them at once is the common case, and then there is nothing to choose between.
        row = model.add_row(rows_before, low=float(every))
        answer = self._cheapest(master)
        if answer.outcome is not Outcome.IMPOSSIBLE:
            return answer, complete
        model.row_lows[row] = -INFINITY
        for _, group in groupby(by_priority, key=lambda d: d.panel.priority):
            made = master.made_columns(list(group))
            model.costs = [0.0] * len(model.costs)
            for column in made:
                model.costs[column] = -1.0
            answer = model.solve(self._left())
            if answer.values is None:
                return answer, False
            complete = complete and answer.outcome is Outcome.PROVED
            model.add_row(made, low=float(round(-answer.objective)))
        model.costs = list(master.costs)
        return self._cheapest(master), complete

    def _cheapest(self, master: Master) -> Answer:
        """The least cost, with joints that form the rows of panels."""
        while True:
            answer = master.model.solve(self._left())
            rings = [joints.cut_rings(answer) for joints in master.joints]
            if not any(rings):
                return answer
