"""What a maker may care for beside cost, each as something to count and a tilt that searches for less of it.

Each is a sum over a plan's boards, staves or joints, so that a search with its price added finds a plan that
no other betters in both: another that has less of it costs more.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from stockyard.selection.check import cost_of
from stockyard.selection.wishes import Wishes
from stockyard.timber import Costs, Job, Plan, Rule, Stock

CHEAPEST = "cheapest"
LONG_SHARE = 4  # one in so many boards counts as long


@dataclass(frozen=True)
class Aim:
    """One aim. word: its name. unit: what is counted. count: how much of it a plan has; less is better.

    tilted: the job and the wishes under which each of it costs so much more. [the stock's currency]
    """

    word: str
    unit: str
    count: Callable[[Plan], float]
    tilted: Callable[[Job, Wishes, Decimal], tuple[Job, Wishes]]


def aims_of(stock: Stock, received: Mapping[str, date], usable: frozenset[str]) -> tuple[Aim, ...]:
    """The aims there are. received: since when boards are there, where known. usable: boards that suit."""
    found = [
        Aim("fewest treatments", "treated flaws", _treated, _dearer_treatments),
        Aim("best match", "dE00 over the joints", lambda plan: _unlike(plan, stock), _dearer_match),
        Aim("fewest boards", "boards cut", lambda plan: len(plan.boards), _dearer_boards),
    ]
    dated = {board.id: received[board.id] for board in stock.boards if board.id in received}
    if dated and len(set(dated.values())) > 1:
        first = min(dated.values())
        years = {name: Decimal((day - first).days) / 365 for name, day in dated.items()}
        found.append(_by_board("oldest stock first", "years newer than the oldest", years))
    lengths = sorted((board.length_mm for board in stock.boards if board.id in usable), reverse=True)
    if lengths and lengths[0] > lengths[-1]:
        least = lengths[max(0, len(lengths) // LONG_SHARE - 1)]
        long = {b.id: Decimal(1) for b in stock.boards if b.id in usable and b.length_mm >= least}
        found.append(_by_board("keeps long boards", f"boards of {least:g} mm or more cut", long))
    return tuple(found)


def other_boards(plan: Plan) -> Aim:
    """As few of a plan's boards as can be."""
    return _by_board("other boards", "boards shared with the first", dict.fromkeys(_cut(plan), Decimal(1)))


def _by_board(word: str, unit: str, weights: Mapping[str, Decimal]) -> Aim:
    def count(plan: Plan) -> float:
        return float(sum((weights.get(name, Decimal(0)) for name in _cut(plan)), Decimal(0)))

    def tilted(job: Job, wishes: Wishes, price: Decimal) -> tuple[Job, Wishes]:
        extra = dict(wishes.extra)
        for name, weight in weights.items():
            extra[name] = extra.get(name, Decimal(0)) + price * weight
        return job, replace(wishes, extra=extra)

    return Aim(word, unit, count, tilted)


def _cut(plan: Plan) -> list[str]:
    return [cut.id for cut in plan.boards]


def _treated(plan: Plan) -> float:
    return sum(len(stave.treat) for made in plan.panels for stave in made.staves)


def _dearer_treatments(job: Job, wishes: Wishes, price: Decimal) -> tuple[Job, Wishes]:
    def dearer(rule: Rule) -> Rule:
        return replace(rule, per_item=rule.per_item + price)

    rules = replace(
        job.rules,
        show={kind: dearer(rule) for kind, rule in job.rules.show.items()},
        back={kind: dearer(rule) for kind, rule in job.rules.back.items()},
    )
    return replace(job, rules=rules), wishes


def _unlike(plan: Plan, stock: Stock) -> float:
    each = Costs(handling=Decimal(0), recovery=Decimal(0), match=Decimal(1), ring_break=Decimal(0))
    return round(float(cost_of(replace(plan, job=replace(plan.job, costs=each)), stock).match), 6)


def _dearer_match(job: Job, wishes: Wishes, price: Decimal) -> tuple[Job, Wishes]:
    return replace(job, costs=replace(job.costs, match=job.costs.match + price)), wishes


def _dearer_boards(job: Job, wishes: Wishes, price: Decimal) -> tuple[Job, Wishes]:
    return replace(job, costs=replace(job.costs, handling=job.costs.handling + price)), wishes
