"""A lawful plan at once, as a careful person would make it with a pencil: panel by panel, boards cheap first.

Of each board the sections are taken from end 1 on, one good stack of staves after another. For a panel, the
boards and how many of their sections to cut are chosen exactly among the cheapest few that dried alike: least
cost for each number of staves and each width they could have together. Then each panel is taken up again
beside the others while that saves anything. It proves nothing; it is there so that a search never ends empty
where a person would not.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations
from math import inf
from random import Random
from time import monotonic

import numpy as np

from stockyard.selection.cells import ALONE, ENDS, MIDDLE, Fit, Role, fits
from stockyard.selection.firstkernels import chosen_widths
from stockyard.selection.instance import Demand, Instance, exactly
from stockyard.selection.joints import best_order, joint_cost
from stockyard.selection.piecemeal import boards_of, panels_of
from stockyard.selection.result import counted_cost
from stockyard.selection.sections import Docked, Lying
from stockyard.selection.stacks import Slot, Stack, any_role, stacks_at
from stockyard.selection.ways import cheapest_first

FEW, MANY = 40, 400  # boards with room for a panel: looked at first, and where those do not make it
SECTIONS = 4  # of one board for one panel
BEYOND = 4  # places past the last cut that are tried
WINDOWS = 16  # of moisture, tried for a panel
ROUNDS = 4  # in which every panel is taken up again
TOGETHER = 4  # panels made anew at once, at most, besides those that share their boards


@dataclass(frozen=True, slots=True)
class _Prefix:
    """The first few sections of a board for one panel. cost: of cutting them, offcut at the end counted."""

    stacks: tuple[tuple[int, Stack], ...]  # where each starts
    staves: int
    least: int
    most: int
    cost: float


@dataclass
class FirstPlan:
    """One plan in the making.

    By the monotonic clock: deadline, after which no further panel is begun; enough, after which none is made
    anew (the deadline where it is left out).
    """

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    deadline: float
    enough: float | None = None
    _shapes: dict[object, int] = field(default_factory=dict)
    _safe: dict[tuple[int, int], list[Fit]] = field(default_factory=dict)
    _stacks: dict[tuple[int, int, int], tuple[Stack, ...]] = field(default_factory=dict)
    _order: dict[int, list[int]] = field(default_factory=dict)

    def plan(self, demands: Sequence[Demand]) -> tuple[Docked, ...]:
        """Sections that make what panels they can, those of high priority and great size first."""
        order = sorted(demands, key=lambda d: (d.panel.priority, -d.rough_length * d.width, d.index))
        docked: tuple[Docked, ...] = ()
        for demand in order:
            if docked and self._late():
                return docked
            docked += self._make(demand, docked)
        for _ in range(ROUNDS):
            before = docked
            for demand in order:
                if self._late() or (self.enough is not None and monotonic() > self.enough):
                    return docked
                docked = self._again(demand, docked)
            if docked == before:
                break
        return docked

    def better(
        self,
        docked: tuple[Docked, ...],
        found: Callable[[tuple[Docked, ...]], None],
        go_on: Callable[[], bool],
        seed: int = 1,
    ) -> tuple[Docked, ...]:
        """The plan after panels drawn at random have been made anew together, while `go_on` says so.

        found: told each better plan.
        """
        draw = Random(seed)
        while go_on():
            made = sorted(panels_of(docked))
            drawn = set(draw.sample(made, min(len(made), draw.randint(2, TOGETHER))))
            shared = boards_of(s for s in docked if drawn & panels_of([s]))
            if draw.random() < 0.5:  # those that share a board with them too
                drawn |= panels_of(s for s in docked if s.timber in shared)
            kept = tuple(s for s in docked if not drawn & panels_of([s]))
            new = kept
            for index in draw.sample(sorted(drawn), len(drawn)):
                new += self._make(self.instance.demands[index], new)
            if panels_of(new) >= panels_of(docked) and (
                counted_cost(self.instance, new) < counted_cost(self.instance, docked) - 1e-6
            ):
                docked = new
                found(docked)
        return docked

    def _late(self) -> bool:
        return monotonic() > self.deadline

    def _again(self, demand: Demand, docked: tuple[Docked, ...]) -> tuple[Docked, ...]:
        """The plan with one panel made anew beside the others, where that is cheaper or makes it at all."""
        kept = tuple(s for s in docked if demand.index not in panels_of([s]))
        new = self._make(demand, kept)
        if not new:
            return docked
        if len(kept) == len(docked) or counted_cost(self.instance, kept + new) < (
            counted_cost(self.instance, docked) - 1e-6
        ):
            return kept + new
        return docked

    def _make(self, demand: Demand, docked: Sequence[Docked]) -> tuple[Docked, ...]:
        """Sections for one panel from what the others leave, or none."""
        reached: dict[int, int] = {}
        for section in docked:
            reached[section.timber] = max(section.x1, reached.get(section.timber, 0))
        musts = {board for panel, board in self.instance.musts if panel == demand.index}
        shape = self._shape(demand)
        if shape not in self._order:
            self._order[shape] = cheapest_first(self.instance, self.ways, [demand])
        begun = [index for index in self._order[shape] if index in musts or index in reached]  # paid for
        begun.sort(key=lambda index: index not in musts)
        order = begun + [index for index in self._order[shape] if index not in musts and index not in reached]
        found: dict[int, list[_Prefix]] = {}
        for index in order:
            if len(found) >= MANY or (len(found) >= FEW and self._late()):
                break
            prefixes = self._prefixes(demand, index, reached.get(index))
            if prefixes:
                found[index] = prefixes
            if len(found) == FEW and prefixes:
                made = self._best(demand, found, musts)
                if made:
                    return made
        return self._best(demand, found, musts)

    def _prefixes(self, demand: Demand, index: int, reached: int | None) -> list[_Prefix]:
        """What the board's next sections give the panel: of one, of two, and so on."""
        cuts, timber = self.instance.cuts, self.instance.timbers[index]
        safe = self._safe_fits(demand, index)
        if not safe:
            return []
        cursor = cuts.end_loss if reached is None else reached + cuts.kerf
        paid = self.instance.board_cost(timber) if reached is None else self._credit(index, cursor)
        found: list[_Prefix] = []
        lying: tuple[tuple[int, Stack], ...] = ()
        for _ in range(SECTIONS):
            beyond = sorted({x for fit in safe for x in fit.anchors if x > cursor})[:BEYOND]
            for start in (cursor, *beyond):
                stacks = self._stacks_at(demand, index, start)
                if stacks:
                    break
            else:
                break
            cursor = start + demand.rough_length + cuts.kerf
            rest, so_far = self._credit(index, cursor), lying
            for stack in stacks:
                some = (*so_far, (start, stack))
                staves = sum(s.staves for _, s in some)
                if staves > demand.most:
                    continue
                found.append(
                    _Prefix(
                        some,
                        staves,
                        sum(s.least for _, s in some),
                        sum(s.most for _, s in some),
                        paid + sum(s.cost for _, s in some) - rest,
                    )
                )
            lying = (*so_far, (start, max(stacks, key=lambda s: (s.most, -s.cost))))
            if sum(s.staves for _, s in lying) >= demand.most:
                break
        return found

    def _safe_fits(self, demand: Demand, index: int) -> list[Fit]:
        key = (self._shape(demand), index)
        if key not in self._safe:
            theirs = fits(self.instance, self.instance.timbers[index], demand)
            self._safe[key] = any_role(theirs, self.instance)
        return self._safe[key]

    def _stacks_at(self, demand: Demand, index: int, start: int) -> tuple[Stack, ...]:
        key = (self._shape(demand), index, start)
        if key not in self._stacks:
            self._stacks[key] = stacks_at(self._safe_fits(demand, index), start, self.instance)
        return self._stacks[key]

    def _shape(self, demand: Demand) -> int:
        """The first of the panels that are like this one in all but name and priority."""
        return self._shapes.setdefault(replace(demand.panel, id="", priority=1), demand.index)

    def _credit(self, index: int, cursor: int) -> float:
        """For what lies beyond, were it an offcut without flaws."""
        cuts, timber = self.instance.cuts, self.instance.timbers[index]
        left = timber.length - cursor
        if left < cuts.offcut_length or timber.width < cuts.offcut_width:
            return 0.0
        return self.instance.credit_rate(timber) * left * timber.width

    def _best(
        self, demand: Demand, found: Mapping[int, list[_Prefix]], musts: set[int]
    ) -> tuple[Docked, ...]:
        """The cheapest choice over species and windows of moisture."""
        timbers, spread = self.instance.timbers, exactly(self.instance.job.moisture.spread_pct)
        if not musts <= found.keys():
            return ()
        best: tuple[float, list[_Prefix]] = (inf, [])
        for species in sorted({timbers[index].board.species for index in found}):
            ours = [index for index in found if timbers[index].board.species == species]
            readings = sorted({m for index in ours if (m := timbers[index].moisture) is not None})
            for driest in _spaced(readings) or [Fraction(0)]:
                alike = {
                    index: found[index]
                    for index in ours
                    if (m := timbers[index].moisture) is None or driest <= m <= driest + spread
                }
                if musts <= alike.keys():
                    best = min(best, _cheapest(demand, alike, musts), key=lambda pair: pair[0])
        return self._dock(demand, [stack for prefix in best[1] for _, stack in prefix.stacks])

    def _dock(self, demand: Demand, stacks: Sequence[Stack]) -> tuple[Docked, ...]:
        """The sections, with widths settled and roles given."""
        slots = [slot for stack in stacks for slot in stack.slots]
        if not slots:
            return ()
        wanting = demand.width - sum(slot.least for slot in slots)
        sections: dict[tuple[int, int, int], list[Lying]] = {}
        for slot, role in zip(slots, self._roles(slots), strict=True):
            more = min(wanting, slot.most - slot.least)
            wanting -= more
            fit = self._fit(demand, slot, role)
            if fit is None:
                return ()
            where = (slot.fit.timber.index, slot.start, slot.start + fit.rough_length)
            lying = Lying(fit, slot.start, slot.low, slot.low + slot.least + more)
            sections.setdefault(where, []).append(lying)
        return tuple(Docked(*where, tuple(staves)) for where, staves in sorted(sections.items()))

    def _roles(self, slots: Sequence[Slot]) -> list[Role]:
        """The two that stand outermost are those with which the row is cheapest."""
        if len(slots) == 1:
            return [ALONE]
        kinds = [(slot.fit.timber, slot.fit.show) for slot in slots]
        costs = [[joint_cost(self.instance, one, other) for other in kinds] for one in kinds]
        pairs = combinations(range(len(slots)), 2) if len(slots) <= 7 else [(0, len(slots) - 1)]
        ends = min(pairs, key=lambda pair: best_order(costs, pair)[0])
        return [ENDS[0] if number in ends else MIDDLE for number in range(len(slots))]

    def _fit(self, demand: Demand, slot: Slot, role: Role) -> Fit | None:
        theirs = fits(self.instance, slot.fit.timber, demand)
        return next((fit for fit in theirs if fit.role == role and fit.show is slot.fit.show), None)


def _spaced(readings: Sequence[Fraction]) -> list[Fraction]:
    """At most so many of the readings, evenly chosen."""
    if len(readings) <= WINDOWS:
        return list(readings)
    return [readings[number * len(readings) // WINDOWS] for number in range(WINDOWS)]


def _cheapest(
    demand: Demand, boards: Mapping[int, Sequence[_Prefix]], musts: set[int]
) -> tuple[float, list[_Prefix]]:
    """The least cost at which the boards make the panel, and how much of each; infinite where they do not.

    Over boards one by one: by number of staves, and by the width they could have together (all that reach
    the panel's width count as one).
    """
    width, most = demand.width, demand.most
    known = list(boards.items())
    firsts = np.cumsum([0, *(len(prefixes) for _, prefixes in known)])
    flat = [prefix for _, prefixes in known for prefix in prefixes]
    costs, taken, came = chosen_widths(
        firsts,
        np.array([prefix.staves for prefix in flat], dtype=np.int64),
        np.array([prefix.most for prefix in flat], dtype=np.int64),
        np.array([prefix.cost for prefix in flat], dtype=np.float64),
        np.array([index in musts for index, _ in known], dtype=np.bool_),
        most,
        width,
    )
    for count in sorted(range(demand.least, most + 1), key=lambda n: (float(costs[n]), n)):
        if costs[count] < inf:
            chosen: list[_Prefix] = []
            staves, reached = count, width
            for board in range(len(known) - 1, -1, -1):
                number = int(taken[board, staves, reached])
                if number >= 0:
                    chosen.append(flat[number])
                    staves, reached = staves - flat[number].staves, int(came[board, staves, reached])
            if sum(prefix.least for prefix in chosen) <= width:
                return float(costs[count]), chosen
    return inf, []
