"""What to buy: the cheapest purchase that makes what the stock cannot, as likely as is asked.

The panels that the stock can make are made from it as they are best; the others, from what is left of it and
from boards drawn at random like those offered. A purchase is tried on the same draws as every other, cheapest
first, and given up as soon as it can no longer be likely enough; a trial is good only where a plan was
found in it, so the chance told is rather too low than too high. What is told of the one chosen comes from
fresh draws, so that it does not owe its figure to the luck it was chosen by; where those fall short, a board
is added and drawn for again.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from heapq import heappop, heappush
from math import floor, sqrt
from random import Random
from time import monotonic

from stockyard.selection.answers.cases import Case
from stockyard.selection.answers.feasible import Answer, Feasibility
from stockyard.selection.answers.likely import History, Offer, board_like
from stockyard.selection.search import select
from stockyard.timber import Board, Job, Plan, Stock, Unread

MOST_BOARDS = 24  # of a purchase
NINETY_FIVE = 1.959964  # standard deviations of a normal distribution that hold 95 % of it


@dataclass(frozen=True, slots=True)
class Chance:
    """How often something came out well. low, high: its 95 % interval (Wilson's)."""

    good: int
    trials: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Of all trials; 0 of none."""
        return self.good / self.trials if self.trials else 0.0


def chance_of(good: int, trials: int) -> Chance:
    """The share of good trials with its 95 % interval.

    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927), 209-212.
    """
    if not trials:
        return Chance(0, 0, 0.0, 1.0)
    z2, share = NINETY_FIVE**2, good / trials
    middle = (share + z2 / (2 * trials)) / (1 + z2 / trials)
    half = NINETY_FIVE * sqrt(share * (1 - share) / trials + z2 / (4 * trials**2)) / (1 + z2 / trials)
    return Chance(good, trials, max(0.0, middle - half), min(1.0, middle + half))


@dataclass(frozen=True, slots=True)
class Bought:
    """So many boards of one offer. like: what their flaws were drawn from, in words."""

    offer: Offer
    count: int
    like: str


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy. lines: nothing where the stock makes it all. price: of all of it.

    lacking: panels that the stock cannot make. chance: that it completes the job, by fresh trials. cheapest:
    was every cheaper purchase tried? When not, time ran out first. likely: did one come out as likely as
    asked? When not, the best there was is told. plan: what the stock makes without it.
    """

    lines: tuple[Bought, ...]
    price: Decimal
    lacking: tuple[str, ...]
    chance: Chance
    cheapest: bool
    likely: bool
    seed: int
    plan: Plan


def purchase_of(
    stock: Stock,
    job: Job,
    offers: Sequence[Offer],
    history: History,
    *,
    chance: float = 0.9,
    trials: int = 60,
    seconds: float = 60.0,
    seed: int = 1,
    on_tried: Callable[[Decimal], bool | None] | None = None,
) -> Purchase:
    """The cheapest purchase from the offers with which the job is made in at least `chance` of the trials.

    chance: 0 to 1, 1 left out. trials: draws each purchase is tried on, and as many fresh ones for the one
    told. seconds: to search at most, about. seed: the same one gives the same draws. on_tried: told the price
    of each purchase tried; True stops.
    """
    began = monotonic()
    plan = select(stock, job, seconds=max(0.5, min(10.0, seconds / 4)))
    lacking = tuple(made.id for made in plan.panels if not made.made)
    if not lacking:
        return Purchase((), Decimal(0), (), Chance(0, 0, 1.0, 1.0), True, True, seed, plan)
    wanted = replace(job, panels=tuple(panel for panel in job.panels if panel.id in lacking))
    cut = {each.id for each in plan.boards}
    left = replace(
        stock, boards=tuple(b for b in stock.boards if b.id not in cut and b.id not in stock.reserved)
    )
    left = replace(left, boards=tuple(b for b in left.boards if _of_use(b, wanted)))
    draws = _Draws(left, wanted, tuple(offers), history, seed)
    search = _Search(draws, chance, trials, began + 0.75 * seconds, on_tried)
    basket, cheapest, likely = search.cheapest()
    fresh = replace(draws, seed=seed + 1_000_003, known={})
    told = fresh.tried(basket, trials, began + seconds)
    while likely and told.trials == trials and told.share < chance and sum(basket) < MOST_BOARDS:
        added = search.one_more(basket)
        if not added or monotonic() > began + seconds:
            break
        basket, cheapest = min(added, key=draws.price), False
        told = fresh.tried(basket, trials, began + seconds)
    likely = likely and told.share >= chance
    lines = tuple(
        Bought(offers[number], count, _drawn_from(offers[number], history))
        for number, count in enumerate(basket)
        if count
    )
    return Purchase(lines, draws.price(basket), lacking, told, cheapest, likely, seed, plan)


def _drawn_from(offer: Offer, history: History) -> str:
    return "given rates" if offer.flaws is not None else history.like(offer)[1]


def _of_use(board: Board, job: Job) -> bool:
    return any(Case(board, job, panel).suits() for panel in job.panels)


Basket = tuple[int, ...]
"""How many boards of each offer."""


@dataclass(frozen=True)
class _Draws:
    """Boards drawn for each trial, the same for every basket, and whether a basket makes the panels then."""

    left: Stock
    job: Job
    offers: tuple[Offer, ...]
    history: History
    seed: int
    known: dict[tuple[int, int, int], Board | None] = field(default_factory=dict)

    def price(self, basket: Basket) -> Decimal:
        return sum((offer.price * n for offer, n in zip(self.offers, basket, strict=True)), Decimal(0))

    def board(self, trial: int, number: int, which: int) -> Board | None:
        """Board `which` of an offer in a trial; None where it cannot serve."""
        key = trial, number, which
        if key not in self.known:
            random = Random(f"{self.seed}/{trial}/{number}/{which}")
            rule = self.job.moisture
            dry = (rule.min_pct + rule.max_pct) / 2
            name = f"offer {self.offers[number].line}, board {which + 1}"
            board = board_like(self.offers[number], self.history, name, random, dry_pct=dry)
            self.known[key] = board if _of_use(board, self.job) else None
        return self.known[key]

    def makes(self, basket: Basket, trial: int, deadline: float) -> bool | None:
        """Are all panels made with these boards in this trial? None when time ran out first."""
        boards = [
            board
            for number, count in enumerate(basket)
            for which in range(count)
            if (board := self.board(trial, number, which)) is not None
        ]
        asking = Feasibility(
            replace(self.left, boards=(*boards, *self.left.boards)), deadline, each=3.0, thorough=False
        )
        answer = asking.ask(self.job).answer
        return None if asking.out_of_time else answer is Answer.YES

    def tried(self, basket: Basket, trials: int, deadline: float, needed: int | None = None) -> Chance:
        """How often a basket makes the panels; given up once `needed` good trials are out of reach."""
        good = done = 0
        for trial in range(trials):
            if needed is not None and good + trials - trial < needed:
                break
            made = self.makes(basket, trial, deadline)
            if made is None:
                break
            good, done = good + made, done + 1
        return chance_of(good, done)

    def could(self, basket: Basket, deadline: float) -> bool:
        """Might it do if every board of it were clear, flat and dry? False is certain or as good as."""
        rule = self.job.moisture
        boards = [
            Board(
                id=f"offer {offer.line}, board {which + 1}",
                species=offer.species,
                length_mm=offer.length_mm,
                width_mm=offer.width_mm,
                thickness_mm=offer.thickness_mm,
                value=offer.price,
                moisture_pct=None if rule.unread is Unread.ALLOW else (rule.min_pct + rule.max_pct) / 2,
            )
            for offer, count in zip(self.offers, basket, strict=True)
            for which in range(count)
        ]
        asking = Feasibility(
            replace(self.left, boards=(*boards, *self.left.boards)), deadline, each=1.0, thorough=False
        )
        return asking.ask(self.job).answer is Answer.YES


@dataclass
class _Search:
    """Baskets in order of their price. hopeful: those that would do if all their boards were clear."""

    draws: _Draws
    chance: float
    trials: int
    deadline: float
    on_tried: Callable[[Decimal], bool | None] | None
    hopeful: set[Basket] = field(default_factory=set)

    def cheapest(self) -> tuple[Basket, bool, bool]:
        """The cheapest basket likely enough; whether all cheaper ones were tried; whether it is likely."""
        needed = -floor(-self.chance * self.trials)
        fallback = self._of_one_line(needed)
        waiting: list[tuple[Decimal, Basket]] = []
        none = (0,) * len(self.draws.offers)
        heappush(waiting, (Decimal(0), none))
        seen = {none}
        best, best_share = none, -1.0
        while waiting:
            price, basket = heappop(waiting)
            if self.on_tried and self.on_tried(price):
                break
            if fallback is not None and price >= self.draws.price(fallback):
                return fallback, True, True
            if basket in self.hopeful or self.draws.could(basket, self.deadline):
                found = self.draws.tried(basket, self.trials, self.deadline, needed)
                if found.good >= needed and found.trials == self.trials:
                    return basket, True, True
                if found.good > best_share:
                    best, best_share = basket, found.good
                self.hopeful |= set(self.one_more(basket))
            if monotonic() >= self.deadline:
                break
            for bigger in self.one_more(basket):
                if bigger not in seen:
                    seen.add(bigger)
                    heappush(waiting, (self.draws.price(bigger), bigger))
        return (best, not waiting, False) if fallback is None else (fallback, False, True)

    def _of_one_line(self, needed: int) -> Basket | None:
        """The cheapest basket of boards of one offer only that is likely enough, to have one soon."""
        best: Basket | None = None
        none = (0,) * len(self.draws.offers)
        until = monotonic() + (self.deadline - monotonic()) / 2
        for number, offer in enumerate(self.draws.offers):
            for count in range(1, min(MOST_BOARDS, offer.available or MOST_BOARDS) + 1):
                basket = (*none[:number], count, *none[number + 1 :])
                if best is not None and self.draws.price(basket) >= self.draws.price(best):
                    break
                if monotonic() >= until:
                    return best
                if basket not in self.hopeful and not self.draws.could(basket, until):
                    continue
                self.hopeful |= set(self.one_more(basket))
                found = self.draws.tried(basket, self.trials, until, needed)
                if found.good >= needed and found.trials == self.trials:
                    best = basket
                    break
        return best

    def one_more(self, basket: Basket) -> Sequence[Basket]:
        """Baskets of one board more that can be had."""
        if sum(basket) >= MOST_BOARDS:
            return ()
        return [
            (*basket[:number], basket[number] + 1, *basket[number + 1 :])
            for number, offer in enumerate(self.draws.offers)
            if offer.available is None or basket[number] < offer.available
        ]
