"""A few really different good plans: the cheapest, and what each other aim costs more.

For each aim the job is searched again with a price on what the aim counts, heavy first and lighter while that
comes out too dear. Of all plans found only those are kept that no other betters in cost and in every aim at
once; each that is told is the best of them in some aim.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from time import monotonic

from stockyard.selection.answers.aims import CHEAPEST, Aim, aims_of, other_boards
from stockyard.selection.answers.pricing import at_true_cost
from stockyard.selection.search import select
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.timber import Job, Plan, Status, Stock

FIRST_SHARE = 0.35  # of the time goes to the cheapest plan
WITHIN = 0.25  # of the cheapest plan's cost is what an aim may cost more
WEIGHTS = (Decimal(1), Decimal("0.1"), Decimal("0.02"))  # of the cheapest plan's cost, for each thing counted


@dataclass(frozen=True, slots=True)
class Choice:
    """One plan. aims: in what it is the best of those told, the first being what it was kept for.

    more: what it costs beyond the cheapest. counts: by aim, how much of what that counts it has.
    proved: is it proved that no plan has less of its first aim at no more cost?
    """

    plan: Plan
    aims: tuple[str, ...]
    more: Decimal
    counts: Mapping[str, float]
    proved: bool


@dataclass(frozen=True, slots=True)
class Choices:
    """The plans to choose from, cheapest first. units: by aim, what is counted. tried: plans looked at."""

    choices: tuple[Choice, ...]
    units: Mapping[str, str]
    tried: int


def choices_of(
    stock: Stock,
    job: Job,
    count: int,
    *,
    received: Mapping[str, date] | None = None,
    seconds: float = 30.0,
    within: float = WITHIN,
    wishes: Wishes = NO_WISHES,
    on_plan: Callable[[Plan], bool | None] | None = None,
) -> Choices:
    """Up to `count` plans that make the same panels, cheapest first.

    received: since when boards are on the rack, for oldest stock first. within: how much more than the
    cheapest a plan may cost, as a share. on_plan: told of each plan found; True stops the search.
    """
    began = monotonic()
    best = select(stock, job, seconds=max(0.5, FIRST_SHARE * seconds), wishes=wishes)
    if not all(made.made for made in best.panels):
        best = select(stock, job, seconds=max(0.5, FIRST_SHARE * seconds), wishes=wishes, start=best)
    pool = [_Found(best, None, proved=best.status is Status.OPTIMAL)]
    if not any(made.made for made in best.panels):
        return Choices((Choice(best, (CHEAPEST,), Decimal(0), {}, proved=pool[0].proved),), {}, 1)
    usable = frozenset(board.id for board in stock.boards) - {each.id for each in best.rejected}
    aims = (*aims_of(stock, received or {}, usable), other_boards(best))
    left = len(aims)
    stop = bool(on_plan and on_plan(best))
    for aim in aims:
        for weight in WEIGHTS:
            until = began + seconds
            if stop or monotonic() >= until - 0.1:
                break
            share = max(0.5, (until - monotonic()) / left)
            found = _tilted(stock, job, wishes, best, aim, weight, share)
            if found is None:
                break
            pool.append(found)
            stop = bool(on_plan and on_plan(found.plan))
            if found.plan.cost <= best.cost * Decimal(1 + within):
                break
        left -= 1
    return Choices(tuple(_chosen(pool, aims, count, within)), {aim.word: aim.unit for aim in aims}, len(pool))


@dataclass(frozen=True)
class _Found:
    plan: Plan
    aim: Aim | None
    proved: bool


def _tilted(
    stock: Stock, job: Job, wishes: Wishes, best: Plan, aim: Aim, weight: Decimal, seconds: float
) -> _Found | None:
    """The plan sought with the aim's price at a share of the best cost; None when it makes less."""
    other_job, other_wishes = aim.tilted(job, wishes, (abs(best.cost) * weight).quantize(Decimal("0.01")))
    start = at_true_cost(best, stock, other_job)
    plan = select(stock, other_job, seconds=seconds, wishes=other_wishes, start=start)
    if _made(plan) != _made(best):
        return None
    return _Found(at_true_cost(plan, stock, job, best.bound), aim, plan.status is Status.OPTIMAL)


def _made(plan: Plan) -> tuple[str, ...]:
    return tuple(made.id for made in plan.panels if made.made)


def _chosen(pool: Sequence[_Found], aims: Sequence[Aim], count: int, within: float) -> Iterable[Choice]:
    cheapest = min(pool, key=lambda each: each.plan.cost)
    aims = (*aims[:-1], other_boards(cheapest.plan))
    dearest = cheapest.plan.cost + abs(cheapest.plan.cost) * Decimal(within)
    counts = {id(each): {aim.word: aim.count(each.plan) for aim in aims} for each in pool}

    def point(each: _Found) -> tuple[float, ...]:
        return float(each.plan.cost), *counts[id(each)].values()

    near = [each for each in pool if each.plan.cost <= dearest]
    front = [each for each in near if not any(betters(point(other), point(each)) for other in near)]
    kept = [cheapest]
    for aim in aims:
        if len(kept) >= count:
            break
        least = min(front, key=lambda each: (counts[id(each)][aim.word], each.plan.cost))
        if counts[id(least)][aim.word] < min(counts[id(each)][aim.word] for each in kept):
            kept.append(least)
    for each in sorted(kept, key=lambda each: each.plan.cost):
        mine = counts[id(each)]
        best_in = [
            aim.word
            for aim in aims
            if mine[aim.word] < max(counts[id(o)][aim.word] for o in kept)
            and mine[aim.word] <= min(counts[id(o)][aim.word] for o in kept)
        ]
        first = [CHEAPEST] if each is cheapest else [each.aim.word] if each.aim else []
        words = tuple(dict.fromkeys([*(w for w in first if w == CHEAPEST or w in best_in), *best_in]))
        yield Choice(each.plan, words, each.plan.cost - cheapest.plan.cost, mine, each.proved)


def betters(one: Sequence[float], other: Sequence[float]) -> bool:
    """Is `one` nowhere worse than `other` and somewhere better?"""
    return all(a <= b for a, b in zip(one, other, strict=True)) and tuple(one) != tuple(other)
