"""Staves of one panel stacked in one section of a board, simply: low edges fixed, widths free in a range.

A first plan does not need every lawful stave, only many good ones. Here each stave keeps clear of what a
glued edge needs on both sides and leaves room for whichever trim is larger, so that it may later become a
middle or an end stave; its low edge stands as low as it can, and its width may be anything in its own range.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from stockyard.selection.cells import MIDDLE, Cell, Fit
from stockyard.selection.instance import Instance

MOST_STACKS = 12
"""Kept of one place along a board: the best by count, cost and width."""

TALLEST = 4
"""Staves in one stack."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A stave to be: where it starts along the board, its low edge, and the range of its finished width."""

    fit: Fit
    start: int
    low: int
    least: int
    most: int


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """Slots of one section, told apart by identity.

    cost: treatments and penalties, less what is credited for the strip above.
    """

    slots: tuple[Slot, ...]
    least: int
    most: int
    cost: float

    @property
    def staves(self) -> int:
        """How many."""
        return len(self.slots)


def any_role(fits: Sequence[Fit], instance: Instance) -> list[Fit]:
    """One fit for each face shown, lawful in every role."""
    found: dict[object, Fit] = {}
    for fit in fits:
        if fit.show in found:
            continue
        cuts, bent = instance.cuts, fit.high_allowance
        bent -= cuts.side_trim if fit.role.high_outer else cuts.edge_joint
        margin = max(cuts.side_trim, cuts.edge_joint)
        theirs = [other for other in fits if other.show is fit.show]
        spare = 2 * margin + bent
        widest = min(other.widest + other.low_allowance + other.high_allowance for other in theirs) - spare
        widest = min(widest, *(other.widest for other in theirs))
        if fit.demand.narrowest <= widest:
            found[fit.show] = replace(
                fit, role=MIDDLE, low_allowance=margin, high_allowance=margin + bent,
                narrowest=fit.demand.narrowest, widest=widest,
            )  # fmt: skip
    return list(found.values())


def stacks_at(fits: Sequence[Fit], start: int, instance: Instance) -> tuple[Stack, ...]:
    """Good stacks of a section that starts at `start`, the cheapest first."""
    cells = [
        (fit, cell) for fit in fits if fit.first_start <= start <= fit.last_start for cell in fit.cells(start)
    ]
    if not cells:
        return ()
    found = [_stack(slots, cost, instance) for slots, cost in _piled(cells, start, 0, instance, TALLEST)]
    best: list[Stack] = []
    for stack in sorted(found, key=lambda s: (s.cost, -s.most, s.least)):
        if not any(_no_worse(other, stack) for other in best):
            best.append(stack)
        if len(best) == MOST_STACKS:
            break
    return tuple(best)


def _no_worse(one: Stack, other: Stack) -> bool:
    return (
        one.staves == other.staves
        and one.cost <= other.cost
        and one.most >= other.most
        and one.least <= other.least
    )


def _piled(
    cells: Sequence[tuple[Fit, Cell]], start: int, free: int, instance: Instance, left: int
) -> Iterator[tuple[tuple[Slot, ...], float]]:
    """Stacks that begin at `free` across the board."""
    for fit, cell in cells:
        low = max(cell.low, free + fit.low_allowance)
        if low > cell.low_last:
            continue
        least = max(cell.narrowest, cell.high_first - low)
        room = min(cell.widest, cell.high - low)
        if least > room:
            continue
        gap = fit.low_allowance + fit.high_allowance + instance.cuts.kerf
        shares = {(cell.high - low - (parts - 1) * gap) // parts for parts in range(2, left + 1)}
        for most in {room, *(share for share in shares if least <= share < room)}:
            slot = Slot(fit, start, low, least, most)
            yield (slot,), cell.cost
            if left > 1:
                above = low + most + fit.high_allowance + instance.cuts.kerf
                for slots, cost in _piled(cells, start, above, instance, left - 1):
                    yield (slot, *slots), cell.cost + cost


def _stack(slots: tuple[Slot, ...], cost: float, instance: Instance) -> Stack:
    top, fit, cuts = slots[-1], slots[-1].fit, instance.cuts
    spare = fit.timber.width - (top.low + top.most + fit.high_allowance) - cuts.kerf
    if spare >= cuts.offcut_width and fit.rough_length >= cuts.offcut_length:
        cost -= instance.credit_rate(fit.timber) * spare * fit.rough_length
    return Stack(slots, sum(s.least for s in slots), sum(s.most for s in slots), cost)
