"""One run over some panels: prices and the bound that they prove, plans that come near it, and a proof.

Boards that are cheap for their size are priced first, the others once the prices have settled among those.
"""

from collections.abc import Mapping, Sequence
from random import Random
from time import monotonic
from typing import Protocol

import numpy as np

from stockyard.selection.cells import Fit
from stockyard.selection.choosing import Choice
from stockyard.selection.instance import Demand, Instance
from stockyard.selection.proving import prove
from stockyard.selection.relaxation import OLD_SHARE, Group, Prices, Relaxation, Way, way_of
from stockyard.selection.sections import Docked
from stockyard.selection.survey import Best, Shapes, Survey
from stockyard.selection.ways import cheapest_first, dried_alike

FIRST, PLENTY = (
    40,
    10,
)  # boards priced from the start, the cheapest for their size: so many, so many times the area
AT_ONCE = 300  # boards surveyed at once after that
SEEDS = (0.9, 1.05, 1.2, 1.35, 1.5, 1.75, 2.0, 2.5)  # of the price of timber: what is tried first
MANY = 6  # panels, beyond which they are planned a few at a time
QUICKLY = 2.0  # seconds for the choice of a few panels' ways
KEPT = 1500  # surveys kept of boards that do not pay
ENOUGH = 1e-6  # of the cost: a bound so near the linear program's cost is all it can give
LIMITS = (
    0.01,
    0.03,
    0.07,
    0.15,
    0.4,
    1.0,
    4.0,
)  # of the bound, by which a plan may be dearer: listed in turn
NEAR = 0.06  # of the bound: boards that could be in a plan so near it are looked at again
SHAKEN, SHAKES = 0.15, 40  # by how much prices are changed at random to find more ways, and how often
MOST_BOARDS = 150  # looked at so
MOST_WAYS = 1200  # chosen from
MOST_AT_ONCE = 40  # ways of a board gone on with, the best, while looking for a plan


class Search(Protocol):
    """The search that a run is part of: the best plan and bound so far, the time left, and who is told."""

    instance: Instance
    ways: Mapping[int, tuple[Fit, ...]]
    best: tuple[Docked, ...]
    bound: float
    stopped: bool

    @property
    def cost(self) -> float:
        """What the best plan counts for."""

    def left(self) -> float:
        """Seconds to go."""

    def close(self) -> bool:
        """Are plan and bound as good as one?"""

    def found(self, docked: tuple[Docked, ...]) -> None:
        """A plan has been found."""

    def tell(self) -> None:
        """Tell how far the search has come."""

    def made(self, demands: Sequence[Demand]) -> list[Demand]:
        """Those of the demands that the best plan makes."""

    def many(self, demands: Sequence[Demand], share: float) -> None:
        """Plan many panels a few at a time in a share of the time left, or better the plan there is."""


class Pricing:
    """One run over some demands: prices and bound, plans, proof."""

    def __init__(
        self,
        search: Search,
        demands: Sequence[Demand],
        shapes: Shapes,
        groups: tuple[Group, ...],
        but: frozenset[int] = frozenset(),
    ) -> None:
        self.search, self.demands, self.shapes, self.groups = search, demands, shapes, groups
        self.instance = search.instance
        order = [
            index
            for index in cheapest_first(self.instance, self.search.ways, self.demands)
            if index not in but
        ]
        self.alike = dried_alike(self.instance, order)
        self.waiting = sorted(order, key=lambda index: index not in self.alike)
        self.active: dict[int, Survey] = {}
        self._idle: dict[int, Survey] = {}
        self.prices: Prices | None = None
        self.unmade = 0.0
        self._priced: dict[int, Best] = {}  # every board priced at the prices that settled
        self._whole, self._base = False, 0.0  # is the bound that the prices prove one for all boards; and it

    def quickly(self, deadline: float) -> tuple[Docked, ...]:
        """A plan from the first boards, without a bound."""
        self._take(deadline)
        if not self.active:
            return ()
        self.relaxation = Relaxation(self.groups, self._dear())
        self._seed(deadline)
        self._settle(deadline, even=True)
        seconds = max(0.0, min(deadline - monotonic(), QUICKLY))
        return Choice(self.instance, self.groups, self.relaxation.ways).plan(seconds)

    def run(self) -> None:
        """Search until all is proved or time is up."""
        began, left = monotonic(), self.search.left()
        self._take(began + 0.25 * left)
        if not self.active:
            return
        self.relaxation = Relaxation(self.groups, self._dear())
        if len(self.demands) > MANY:
            if not self.search.best:
                self.search.many(self.demands, 0.5)
            self.prices, self.active_bound = None, -float("inf")
        began, left = monotonic(), self.search.left()
        self._seed(began + 0.3 * left)
        self._settle(began + 0.5 * left, even=True)
        if len(self.demands) <= MANY:
            self._choose(self.relaxation.ways, 0.15 * left)
        self._settle(began + 0.6 * left)
        while self.on():
            if not self._sift():
                break
            self._settle(began + 0.6 * left)
        if self.prices is None or not self.on():
            return
        self._priced = {
            survey.timber.index: best
            for survey, best in zip(
                self.active.values(), self._price(self.prices, list(self.active.values())), strict=True
            )
        }
        if not self._whole:
            self._base = self._bound(self.prices, list(self._priced.values()))
        if len(self.demands) > MANY:
            self.search.many(self.demands, 0.95)
            return
        self._shake(monotonic() + 0.15 * self.search.left())
        self._near()
        if self._whole:
            self._prove()

    def on(self) -> bool:
        """Is there time left, and has nobody said stop?"""
        return self.search.left() > 0 and not self.search.stopped

    def _take(self, deadline: float) -> None:
        """Look at the first boards, enough for a plan or nearly."""
        area, wanted = 0, sum(d.rough_length * d.width for d in self.demands)
        while self.waiting and (len(self.active) < FIRST or area < PLENTY * wanted):
            if self.active and monotonic() > deadline:
                break
            survey = self._survey(self.waiting.pop(0))
            if not survey.empty:
                self.active[survey.timber.index] = survey
                area += survey.timber.length * survey.timber.width

    def _survey(self, index: int) -> Survey:
        if index in self.active:
            return self.active[index]
        if index not in self._idle:
            survey = Survey(self.instance, self.instance.timbers[index], self.shapes)
            if len(self._idle) >= KEPT:
                return survey
            self._idle[index] = survey
        return self._idle[index]

    def _dear(self) -> list[float]:
        """What leaving a panel unmade is taken to cost: more than making it from the boards at hand."""
        rate = self._rate()
        return [3 * rate * g.demand.rough_length * g.demand.width for g in self.groups]

    def _price(self, prices: Prices, surveys: Sequence[Survey], *, even: bool = False) -> list[Best]:
        lines = prices.lines(self.groups, self.shapes)
        own = {board for _, board in prices.must}
        return [
            survey.best(
                prices.lines(self.groups, self.shapes, survey.timber.index)
                if survey.timber.index in own
                else lines,
                even=even,
            )
            for survey in surveys
        ]

    def _settle(self, deadline: float, *, even: bool = False) -> None:
        """Prices at which no board that is looked at has a better way, or as near as time allows."""
        tried = self.prices
        self.active_bound = -float("inf")
        while self.on() and monotonic() < deadline:
            cost, prices, earned, self.unmade = self.relaxation.solve()
            tried = prices if tried is None else tried.mixed(prices, OLD_SHARE)
            added = False
            for use in (tried, prices):
                bests = self._price(use, list(self.active.values()), even=even)
                bound = self._bound(use, bests)
                if bound > self.active_bound:
                    self.active_bound, self.prices = bound, use
                for best in bests:
                    if best.excess < 1e-7:
                        way = way_of(best)
                        short = way.cost - way.worth(prices) - earned.get(way.board, 0.0)
                        if short < -1e-7:
                            added = self.relaxation.add(way) or added
                if added:
                    break
            if not added or cost - self.active_bound < ENOUGH * abs(cost):
                if self.unmade < 1e-7 or not self.relaxation.dearer():
                    break
                tried = None
                self.active_bound = -float("inf")

    def _seed(self, deadline: float) -> None:
        """Ways at prices near what timber costs for its size, from which the linear program can begin."""
        for share in SEEDS:
            if not self.on() or monotonic() > deadline:
                break
            mm = np.array([share * self._rate() * g.demand.rough_length for g in self.groups])
            stave = np.repeat((8.0 * mm)[:, None], 3, axis=1)
            prices = Prices(stave, mm, {(g.number, board): 0.0 for g in self.groups for board in g.must})
            for best in self._price(prices, list(self.active.values()), even=True):
                if best.where >= 0:
                    self.relaxation.add(way_of(best))

    def _rate(self) -> float:
        rates = sorted(
            survey.cost / (survey.timber.length * survey.timber.width) for survey in self.active.values()
        )
        return max(rates[len(rates) // 2], 1e-9)

    def _bound(self, prices: Prices, bests: Sequence[Best]) -> float:
        asked = sum(len(group.demands) * prices.asked(group) for group in self.groups)
        return asked + sum(min(0.0, best.excess) for best in bests)

    def _raise(self, bound: float) -> None:
        """A bound for all panels, if there is a plan that makes them or none yet."""
        if bound > self.search.bound:
            self.search.bound = bound
            self.search.tell()

    def _sift(self) -> bool:
        """Price the boards that are waiting, and look at those that pay. Were there any?

        When none is left that could pay, the bound holds for all boards.
        """
        prices, self._whole = self.prices, False
        if prices is None:
            return False
        dense = prices.densest(self.groups)
        total, passed = 0.0, []
        waiting, self.waiting = self.waiting, []
        for number, index in enumerate(waiting):
            if self._spare(index, dense) >= 0:
                passed.append(index)  # whatever is cut from it earns no more
                continue
            if not self.on() or (len(self.active) and total < 0 and number > AT_ONCE):
                self.waiting = passed + waiting[number:]
                return self.on()
            survey = self._survey(index)
            if survey.empty:
                continue
            priced = self._price(prices, [survey])[0]
            if priced.excess < -1e-9:
                self.active[index] = survey
                self.relaxation.add(way_of(priced))
                total += priced.excess
            else:
                passed.append(index)
        self.waiting, self._whole = passed, True
        self._raise(self.active_bound + total)
        self._base = self.active_bound + total
        return total < -1e-9

    def _choose(self, ways: Sequence[Way], seconds: float) -> None:
        """Choose a plan from these ways."""
        if not self.on():
            return
        until = min(seconds, self.search.left())
        self.search.found(Choice(self.instance, self.groups, ways).plan(until))

    def _shake(self, deadline: float) -> None:
        """Find more ways at prices like those that settled, and choose from those that nearly pay."""
        prices, draw = self.prices or _NONE, Random(1)
        near = [best.survey for best in self._within(NEAR * abs(self._base))[0]]
        near = near[:MOST_BOARDS]
        ways = {(way.board, way.slots): way for way in self.relaxation.ways}
        for _ in range(SHAKES):
            if not self.on() or monotonic() > deadline:
                break
            for best in self._price(self._shaken(prices, draw), near, even=True):
                if best.where >= 0:
                    way = way_of(best)
                    ways.setdefault((way.board, way.slots), way)
        ranked = sorted((way.cost - way.worth(prices), way.board, n) for n, way in enumerate(ways.values()))
        listed = list(ways.values())
        self._choose([listed[n] for _, _, n in ranked[:MOST_WAYS]], 0.15 * self.search.left())

    def _shaken(self, prices: Prices, draw: Random) -> Prices:
        mm = prices.mm * np.array([1 + draw.uniform(-SHAKEN, SHAKEN) for _ in self.groups])
        narrow = np.array([group.demand.narrowest for group in self.groups])
        change = np.array([[draw.uniform(-SHAKEN, SHAKEN) for _ in range(3)] for _ in self.groups])
        return Prices(prices.stave + change * (mm * narrow)[:, None], mm, prices.must)

    def _near(self) -> None:
        """Choose among the best ways of each board that come near the bound, within growing limits."""
        for share in LIMITS:
            if not self.on() or self.search.close():
                return
            limit = share * abs(self._base)
            over = self._over()
            self._list(min(limit, over), MOST_AT_ONCE, 0.4 * self.search.left())
            if over <= limit:
                return

    def _prove(self) -> None:
        """List and choose from everything within what the plan is dearer than the bound."""
        if self.on() and not self.search.close() and self._over() < float("inf"):
            self._list(self._over() + 1e-6, None, self.search.left())

    def _list(self, limit: float, most: int | None, seconds: float) -> None:
        bests, all_of_them = self._within(limit)
        proof = prove(
            self.instance, self.demands, self.groups, self.prices or _NONE, bests, self._base, limit,
            monotonic() + seconds, most,
        )  # fmt: skip
        self.search.found(proof.docked)
        if all_of_them and self._whole:
            self._raise(proof.bound)

    def _within(self, limit: float) -> tuple[list[Best], bool]:
        """Every board that can be cut for no more than it earns and `limit`; did time let all be tried?"""
        prices = self.prices or _NONE
        dense = prices.densest(self.groups)
        for index in self.waiting:
            if index in self._priced or self._spare(index, dense) > limit:
                continue
            if not self.on():
                return list(self._priced.values()), False
            survey = self._survey(index)
            if not survey.empty:
                self._priced[index] = self._price(prices, [survey])[0]
        found = [best for best in self._priced.values() if best.excess <= limit]
        return sorted(found, key=lambda best: best.excess), True

    def _spare(self, index: int, dense: float) -> float:
        """At least what cutting a board costs beyond what it earns; dense: what a square mm earns at most."""
        timber = self.instance.timbers[index]
        area = timber.length * timber.width
        return self.instance.board_cost(timber) - area * max(dense, self.instance.credit_rate(timber))

    def _over(self) -> float:
        """How much dearer the plan is than the bound that the prices prove; infinite where there is none."""
        return self.search.cost - self._base if self.search.best and self._all_made() else float("inf")

    def _all_made(self) -> bool:
        return len(self.search.made(self.demands)) == len(self.demands)


_NONE = Prices.nothing()
