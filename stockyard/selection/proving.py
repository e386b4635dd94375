"""A proof that a plan is the best, or a better one: what lies between bound and plan, listed and chosen from.

With prices that prove a bound, and a limit: every plan dearer than the bound by no more than the limit is
made up from ways of cutting that `narrowing` keeps. So the least cost over those, or the bound and the
limit, is a bound; and where the first is less, it is the best plan's cost. Costs that are taken for less
than they are (`Skeletons.exact`) keep the bound a bound, and a plan counts for what it truly costs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic

from stockyard.selection.instance import Demand, Instance
from stockyard.selection.linear import INFINITY, Answer, Outcome
from stockyard.selection.lines import Limits
from stockyard.selection.master import Master
from stockyard.selection.narrowing import Near
from stockyard.selection.offers import Menu, docked
from stockyard.selection.priority import cheapest
from stockyard.selection.relaxation import Group, Prices
from stockyard.selection.sections import Docked
from stockyard.selection.skeletons import Skeletons
from stockyard.selection.survey import Best

TRIES = 20  # at a plan without ways that cannot be cut
ROUGHLY = 0.002  # of the cost: near enough to the best where nothing is proved


@dataclass(frozen=True)
class Proof:
    """What came of it. bound: no plan costs less. docked: a plan found. complete: was all listed?"""

    bound: float
    docked: tuple[Docked, ...]
    complete: bool
    solved: bool


def prove(
    instance: Instance,
    demands: Sequence[Demand],
    groups: Sequence[Group],
    prices: Prices,
    bests: Sequence[Best],
    bound: float,
    limit: float,
    deadline: float,
    most: int | None = None,
) -> Proof:
    """The best plan dearer than `bound` by `limit` at most, as far as the deadline lets it be found.

    bests: every board that could be cut within the limit, priced at prices that prove the bound. most: ways
    of cutting a board that are gone on with at once, the best; None for all, as a proof needs.
    """
    menus, complete = [], True
    listing = monotonic() + 0.5 * (deadline - monotonic())
    for best in sorted(bests, key=lambda one: one.excess):
        if best.excess > limit:
            break
        if monotonic() > listing:
            complete = False
            break
        near = Near(best, groups, prices, limit)
        skeletons = Skeletons(near, Limits(near.worth, _never, near.limit, _any), listing, most)
        complete = complete and skeletons.complete
        if skeletons.lines:
            menus.append(Menu(skeletons))
    if not menus:
        return Proof(bound + limit if complete else bound, (), complete, complete)
    master = Master(instance, [], demands, menus=menus)
    master.model.add_row(master.made_columns(master.demands), low=float(len(demands)))
    master.model.gap = 0.0 if complete else ROUGHLY
    answer = cheapest(master, deadline)
    proved = bound
    if complete:
        over = INFINITY if answer.outcome is Outcome.IMPOSSIBLE else answer.bound
        proved = max(bound, min(bound + limit, over))
    solved, docked = answer.outcome is not Outcome.STOPPED, _docked(master, answer, deadline)
    return Proof(proved, docked, complete, solved)


def _docked(master: Master, answer: Answer, deadline: float) -> tuple[Docked, ...]:
    """The sections of an answer, or of the next best without ways that cannot be cut as was thought."""
    for _ in range(TRIES):
        if answer.values is None:
            break
        cut = {taken.column: docked(taken.offer, taken.more) for taken in master.taken(answer)}
        if all(cut.values()):
            return tuple(section for sections in cut.values() for section in sections)
        for column, sections in cut.items():
            if not sections:
                master.model.highs[column] = 0.0
        answer = cheapest(master, deadline)
    return ()


def _never(x0: int, total: tuple[int, ...]) -> float:
    return 0.0


def _any(x0: int, x1: int) -> frozenset[tuple[int, ...]]:
    return frozenset()
