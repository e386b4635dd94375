"""The selection itself: from a stock and a job to the best plan that can be proved in the time given.

How, and why it is exact. Everything is put on whole millimetres (`instance`). Where a stave may lie across a
board depends on its place along it only through the flaws it meets (`cells`); sections need to begin and end
only at places that hang on such changes by chains of lengths and kerfs (`places`). For each section, every
order of staves, every edge and every choice of offcuts is tried by dynamic programming, which leaves for each
content the least cost of each total width (`ripping`, `sections`). Sections follow one another as lines, of
which only those are dropped that another replaces at no more cost whatever the widths (`lines`). Their costs
are taken apart into convex boxes (`offers`), and one integer model chooses among all boards' offers, with
exact width sums, roles, species, moisture and joints (`master`, `jointmodel`). On small stocks all of this is
listed whole (`exact`), so that the model's proof is a proof of the selection.

Larger stocks are searched broadly (`broad`, `pricing`). A plan is made at once, panel by panel
(`first_plan`). Then every board is priced by itself, at prices of a linear program over ways of cutting
(`survey`, `relaxation`), which gives a bound; plans are chosen from ways that pay or nearly pay (`choosing`),
and many panels are bettered a few at a time (`piecemeal`). Then what could be in a plan between bound and
plan is listed board by board (`narrowing`, `skeletons`) and chosen from by the exact model (`proving`).
Nothing is called proved unless bound and plan meet, and no stage that was cut short raises a bound. A search
that ends by itself gives the same plan every time; one that its time limit ends may not.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import floor, isfinite
from time import monotonic

from stockyard.errors import Broken
from stockyard.selection.begun import begun_from
from stockyard.selection.broad import Broad
from stockyard.selection.cells import Fit
from stockyard.selection.check import check_plan
from stockyard.selection.contents import layout_size
from stockyard.selection.exact import Exact
from stockyard.selection.instance import Instance, as_whole
from stockyard.selection.priority import Found
from stockyard.selection.result import MILLIONTH, Cutting, put_together
from stockyard.selection.sections import Sections
from stockyard.selection.ways import Ways
from stockyard.selection.why import rejections, serves, why_unmade
from stockyard.selection.wishes import NO_WISHES, Wishes, checked
from stockyard.timber import CostParts, Job, MadePanel, Plan, Reason, Rejection, Status, Stock

SMALL = 400_000_000  # steps of the ripping kernel, a few seconds' worth
SAMPLE = 40  # boards by which it is guessed how long telling what keeps boards out will take
A_REASON = 2e-5  # seconds, a board and a panel


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a selection has come. best: cost of the best plan so far. gap: None while there is no plan."""

    best: float | None
    bound: float
    gap: float | None
    seconds: float


def select(
    stock: Stock,
    job: Job,
    *,
    seconds: float = 30.0,
    on_progress: Callable[[Progress], bool | None] | None = None,
    start: Plan | None = None,
    wishes: Wishes = NO_WISHES,
) -> Plan:
    """The plan that makes the most panels by priority, then costs least.

    seconds: time to search; a lawful plan found by then comes back with a bound. on_progress: told now and
    then; returning True stops the search and keeps the best plan. start: a plan to begin from, used as far as
    it is lawful for this stock and job. wishes: boards to leave, to favour, or to use in a panel.
    Raises BadInput when a wish names a board or panel that is not there, Broken when a plan fails its own
    check.
    """
    began = monotonic()
    instance = as_whole(stock, job, checked(wishes, stock, job))
    ways = Ways(instance)
    deadline = began + 0.96 * seconds - min(_afterwards(instance, ways), 0.4 * seconds)
    report = _reporter(on_progress, began)
    if _small(instance, ways):
        found = Exact(instance, ways, deadline, report).search()
    else:
        begun = () if start is None else begun_from(start, instance, ways)
        found = Broad(instance, ways, deadline, report, begun).search()
    rejected = _with_forbidden(instance, rejections(instance, ways))
    plan = _as_plan(instance, ways, rejected, found, monotonic() - began)
    if start is not None:
        plan = _at_least(plan, start, stock, wishes)
    faults = check_plan(plan, stock)
    if faults:
        raise Broken("A plan failed its own check: " + "; ".join(str(fault) for fault in faults[:5]))
    return plan


def _reporter(
    on_progress: Callable[[Progress], bool | None] | None, began: float
) -> Callable[[float | None, float], bool]:
    """What the search reports to: best cost and bound in, whether to stop out."""

    def report(best: float | None, bound: float) -> bool:
        if on_progress is None:
            return False
        gap = None if best is None else (best - bound) / abs(best) if best else 0.0
        return bool(on_progress(Progress(best, bound, gap, monotonic() - began)))

    return report


def _afterwards(instance: Instance, ways: Ways) -> float:
    """About how long it takes to tell, in the end, what keeps boards out. [s]"""
    some = list(ways)[:: 1 + len(ways) // SAMPLE]
    began = monotonic()
    for index in some:
        serves(ways[index])
    each = (monotonic() - began) / max(1, len(some))
    return 1.3 * each * len(ways) + A_REASON * len(instance.timbers) * len(instance.demands)


def _with_forbidden(instance: Instance, rejected: tuple[Rejection, ...]) -> tuple[Rejection, ...]:
    """Boards left out by the wishes say so, with whatever else keeps them out."""
    asked = Reason("forbidden", None, "it is to be left alone")
    return tuple(
        replace(one, reasons=(asked, *one.reasons)) if one.id in instance.wishes.forbid else one
        for one in rejected
    )


def _at_least(plan: Plan, start: Plan, stock: Stock, wishes: Wishes) -> Plan:
    """The plan, or the plan begun from where that is lawful, for the same job and wishes, and better."""
    usable = start.job == plan.job and not check_plan(replace(start, rejected=plan.rejected), stock)
    if not usable or not wishes.kept_by(start) or _rank(start, wishes) >= _rank(plan, wishes):
        return plan
    return replace(
        plan,
        cost_parts=start.cost_parts,
        panels=start.panels,
        boards=start.boards,
        status=Status.FEASIBLE,
        bound=min(_carried(plan, start, wishes), start.cost) if _made(start) == _made(plan) else Decimal(0),
    )


def _carried(plan: Plan, start: Plan, wishes: Wishes) -> Decimal:
    """A plan's bound, for another plan of the same panels: less that one's extras instead."""
    return plan.bound + wishes.of_plan(c.id for c in plan.boards) - wishes.of_plan(c.id for c in start.boards)


def _made(plan: Plan) -> tuple[str, ...]:
    return tuple(panel.id for panel in plan.panels if panel.made)


def _rank(plan: Plan, wishes: Wishes) -> tuple[tuple[int, ...], Decimal]:
    """The fewer unmade of high priority the better, then the cheaper."""
    priorities = sorted({panel.priority for panel in plan.job.panels})
    made = set(_made(plan))
    unmade = tuple(
        sum(panel.priority == priority and panel.id not in made for panel in plan.job.panels)
        for priority in priorities
    )
    return unmade, plan.cost + wishes.of_plan(cut.id for cut in plan.boards)


def _small(instance: Instance, ways: Mapping[int, tuple[Fit, ...]]) -> bool:
    """Is every section of every board soon listed?"""
    work = 0
    for index, theirs in ways.items():
        if theirs:
            sections = Sections(instance, instance.timbers[index], theirs)
            timber = instance.timbers[index]
            size = layout_size(sections.kinds, timber.width, instance.cuts.kerf, SMALL // timber.width)
            if size * timber.width > SMALL:
                return False
            work += len(sections.spans()) * size * timber.width
            if work > SMALL:
                return False
    return True


def _as_plan(
    instance: Instance,
    ways: Mapping[int, tuple[Fit, ...]],
    rejected: tuple[Rejection, ...],
    found: Found,
    seconds: float,
) -> Plan:
    cutting = put_together(instance, found.docked) if found.docked else Cutting({}, (), CostParts())
    made = bool(cutting.panels)
    cost = cutting.cost_parts.total
    if not made:
        status = Status.INFEASIBLE if found.proved else Status.FEASIBLE
    else:
        status = Status.OPTIMAL if found.proved else Status.FEASIBLE
    extras = instance.wishes.of_plan(cut.id for cut in cutting.boards)
    bound = cost if found.proved else min(cost, _floor(found.bound, instance.floor) - extras)
    return Plan(
        job=instance.job,
        currency=instance.stock.currency,
        status=status,
        cost_parts=cutting.cost_parts,
        bound=bound,
        seconds=seconds,
        panels=tuple(
            MadePanel(demand.panel.id, cutting.panels[demand.index])
            if demand.index in cutting.panels
            else MadePanel(demand.panel.id, why=why_unmade(instance, demand, ways, proved=found.proved))
            for demand in instance.demands
        ),
        boards=cutting.boards,
        rejected=rejected,
    )


def _floor(bound: float, least: float) -> Decimal:
    """The bound, rounded down to a millionth; the least that any plan can count for when there is none."""
    known = max(bound, least) if isfinite(bound) else least
    return Decimal(floor(Fraction(known) * 1_000_000)) * MILLIONTH
