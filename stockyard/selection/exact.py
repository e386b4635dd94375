"""The exact search for stocks small enough to list every section of every board."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from stockyard.selection.cells import Fit
from stockyard.selection.instance import Instance
from stockyard.selection.linear import Outcome
from stockyard.selection.lines import Lines
from stockyard.selection.master import Master
from stockyard.selection.offers import offers_of
from stockyard.selection.priority import Found, by_priority, docked_of
from stockyard.selection.sections import Sections


@dataclass
class Exact:
    """One search over all sections of all boards."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float
    report: Callable[[float | None, float], bool]

    def search(self) -> Found:
        """The best plan, proved unless time ran out."""
        lines: dict[int, Lines] = {}
        for index, fits in self.ways.items():
            if fits:
                sections = Sections(self.instance, self.instance.timbers[index], fits)
                lines[index] = Lines(sections, sections.spans(), deadline=self.deadline)
        listed = all(theirs.complete for theirs in lines.values())
        offers = [offer for theirs in lines.values() for offer in offers_of(theirs)]
        if not offers:
            return Found((), self.instance.floor, proved=listed)
        master = Master(self.instance, offers)
        answer, complete = by_priority(master, self.deadline)
        complete = complete and listed
        if answer.values is not None:
            self.report(answer.objective, answer.bound if listed else self.instance.floor)
        if answer.values is None:
            return Found((), self.instance.floor, proved=answer.outcome is Outcome.IMPOSSIBLE and complete)
        return Found(
            docked_of(master.taken(answer)),
            answer.bound if listed else self.instance.floor,
            proved=complete and answer.outcome is Outcome.PROVED,
        )
