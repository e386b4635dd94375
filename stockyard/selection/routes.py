"""Ways of cutting one board from end to end, simply: one section after another, from left to right.

A route is a walk over cursors (where the next section may start at the earliest). From each, a section of a
panel starts at the cursor itself or where a flaw has just been passed. What the rest of the board would give
back closes the walk. Good routes at given prices are found by looking from the far end back.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from stockyard.selection.cells import Fit
from stockyard.selection.instance import Instance, Timber
from stockyard.selection.stacks import Stack, any_role, stacks_at

MOST_CURSORS = 250
"""Of one board; a long board and short panels could go on for ever."""

STARTS_BEYOND = 3
"""Places past the cursor that are tried for each panel."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What a panel pays, by its index: for a stave, for each mm it could be wide, for each mm it must be."""

    stave: Mapping[int, float]
    most: Mapping[int, float]
    least: Mapping[int, float]

    def scaled(self, share: float, only: int | None = None) -> "Prices":
        """All prices times a share, or those of one panel only."""
        parts = (self.stave, self.most, self.least)
        return Prices(
            *(
                {panel: price * (share if only in (None, panel) else 1.0) for panel, price in part.items()}
                for part in parts
            )
        )

    def of(self, panel: int, stack: Stack) -> float:
        """Worth of a stack to a panel."""
        return (
            self.stave[panel] * stack.staves + self.most[panel] * stack.most + self.least[panel] * stack.least
        )


@dataclass(frozen=True, slots=True)
class Route:
    """One way of cutting a board: stacks with the panel each is for. cost: of the board, cut so."""

    timber: int
    stacks: tuple[tuple[int, Stack], ...]
    cost: float


@dataclass(frozen=True, slots=True)
class _Step:
    panels: tuple[int, ...]  # those alike, which the stack serves equally well
    stack: Stack
    onward: int


class Routes:
    """All walks of one board."""

    def __init__(self, instance: Instance, timber: Timber, fits: Sequence[Fit]) -> None:
        self.timber = timber
        self._instance = instance
        self._whole = instance.board_cost(timber)
        alike: dict[object, list[int]] = {}
        by_panel: dict[int, list[Fit]] = {}
        for fit in fits:
            by_panel.setdefault(fit.demand.index, []).append(fit)
        for index in by_panel:
            panel = instance.demands[index].panel
            alike.setdefault(replace(panel, id="", priority=1), []).append(index)
        self._kinds = [
            (tuple(panels), safe)
            for panels in alike.values()
            if (safe := any_role(by_panel[panels[0]], instance))
        ]
        self._steps = self._walk()
        self._cursors = sorted(self._steps, reverse=True)
        self._rest = {cursor: self._credit(cursor) for cursor in self._cursors}

    @property
    def empty(self) -> bool:
        """Is there nothing to be cut from it?"""
        return not any(self._steps.values())

    def best(self, prices: Prices, slack: float = 0.0, count: int = 1) -> list[tuple[float, Route]]:
        """Routes by cost less worth, the lowest first: up to `count` within `slack` of the lowest."""
        gains: dict[int, float] = {}
        for cursor in self._cursors:
            gains[cursor] = max(
                [self._rest[cursor]]
                + [worth + gains[step.onward] for step, _, worth in self._priced(cursor, prices)]
            )
        first = self._cursors[-1]
        found: list[tuple[float, Route]] = []
        self._gather(first, prices, gains, slack, (), 0.0, found, 40 * count)
        found.sort(key=lambda item: item[0])
        return found[:count]

    def _gather(
        self,
        cursor: int,
        prices: Prices,
        gains: Mapping[int, float],
        slack: float,
        chosen: tuple[tuple[int, Stack], ...],
        lost: float,
        found: list[tuple[float, Route]],
        most: int,
    ) -> None:
        """All walks from `cursor` that give up no more than `slack` of the best there is, a few at least."""
        if len(found) >= most:
            return
        best = gains[cursor]
        if chosen and lost + best - self._rest[cursor] <= slack + 1e-9:
            cost = self._whole + sum(stack.cost for _, stack in chosen) - self._rest[cursor]
            worth = sum(prices.of(panel, stack) for panel, stack in chosen)
            found.append((cost - worth, Route(self.timber.index, chosen, cost)))
        steps = sorted(self._priced(cursor, prices), key=lambda s: -(s[2] + gains[s[0].onward]))
        for step, panel, worth in steps:
            more = best - worth - gains[step.onward]
            if lost + more > slack + 1e-9:
                break
            self._gather(
                step.onward, prices, gains, slack, (*chosen, (panel, step.stack)), lost + more, found, most
            )

    def _priced(self, cursor: int, prices: Prices) -> list[tuple[_Step, int, float]]:
        priced = []
        for step in self._steps[cursor]:
            worth, panel = max((prices.of(panel, step.stack), -panel) for panel in step.panels)
            priced.append((step, -panel, worth - step.stack.cost))
        return priced

    def _walk(self) -> dict[int, list[_Step]]:
        first = self._instance.cuts.end_loss
        steps: dict[int, list[_Step]] = {}
        waiting = [first]
        known: dict[tuple[int, int], tuple[Stack, ...]] = {}
        while waiting and len(steps) < MOST_CURSORS:
            cursor = waiting.pop(0)
            if cursor in steps:
                continue
            steps[cursor] = []
            for number, (panels, fits) in enumerate(self._kinds):
                beyond = sorted({x for fit in fits for x in fit.anchors if x > cursor})[:STARTS_BEYOND]
                for start in (cursor, *beyond):
                    if (number, start) not in known:
                        known[number, start] = stacks_at(fits, start, self._instance)
                    onward = start + fits[0].rough_length + self._instance.cuts.kerf
                    for stack in known[number, start]:
                        steps[cursor].append(_Step(panels, stack, onward))
                    if known[number, start]:
                        waiting.append(onward)
        for step in [step for listed in steps.values() for step in listed]:
            steps.setdefault(step.onward, [])  # as far as we look: what is left there is an offcut
        return steps

    def _credit(self, cursor: int) -> float:
        cuts, timber = self._instance.cuts, self.timber
        left = timber.length - cursor
        if cursor == cuts.end_loss:
            return -inf  # nothing was cut
        if left < cuts.offcut_length or timber.width < cuts.offcut_width:
            return 0.0
        return self._instance.credit_rate(timber) * left * timber.width
