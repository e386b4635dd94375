"""At most how wide the staves of a panel could be, from all the boards that suit it: too little proves a no.

Across one section of a board, staves lie side by side within what some cell allows; along it there are no
more sections than the shortest stave wanted fits into. So no cutting gives more width than both together.
"""

from collections.abc import Mapping, Sequence

from stockyard.selection.cells import Fit, fits
from stockyard.selection.instance import Instance, Timber
from stockyard.selection.why import serves
from stockyard.selection.windows import companies

Ways = Mapping[int, Mapping[int, Sequence[Fit]]]
"""By panel's index and board's index: how its staves lie on it, only where they can."""


def ways_of(instance: Instance) -> Ways:
    """Every panel's boards."""
    return {
        demand.index: {
            timber.index: found
            for timber in instance.timbers
            if serves(found := fits(instance, timber, demand))
        }
        for demand in instance.demands
    }


def may_be_made(instance: Instance, ways: Ways) -> bool:
    """Is there room for each panel alone, and for all of them together? False proves that there is not."""
    together: dict[int, int] = {}
    shortest = min(demand.rough_length for demand in instance.demands)
    for demand in instance.demands:
        if not demand.possible:
            return False
        wide = {}
        for index, theirs in ways[demand.index].items():
            timber, across = instance.timbers[index], width_across(theirs)
            wide[index] = across * _sections(instance, timber, demand.rough_length)
            most = across * _sections(instance, timber, shortest)
            together[index] = max(together.get(index, 0), most)
        boards = [instance.timbers[index] for index in wide]
        groups = companies(instance, demand, boards)
        if not any(sum(wide[index] for index in group) >= demand.width for group in groups):
            return False
    return sum(together.values()) >= sum(demand.width for demand in instance.demands)


def width_across(ways: Sequence[Fit]) -> int:
    """The most width, finished, that staves side by side could take at any place along the board. [mm]

    Staves of one section may begin at different places, so all that is lawful anywhere along is joined.
    """
    reach = covered = 0
    spans = {(cell.low, cell.high) for fit in ways for cells in fit.regimes[1] for cell in cells}
    for low, high in sorted(spans):
        covered += max(0, high - max(low, reach))
        reach = max(reach, high)
    return covered


def _sections(instance: Instance, timber: Timber, rough_length: int) -> int:
    cuts = instance.cuts
    return int((timber.length - 2 * cuts.end_loss + cuts.kerf) // (rough_length + cuts.kerf))
