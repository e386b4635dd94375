"""Can these panels be made at all? Asked without money, so that the first lawful plan answers it."""

from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from time import monotonic

from stockyard.selection.answers.room import may_be_made, ways_of
from stockyard.selection.broad import Broad
from stockyard.selection.cells import fits
from stockyard.selection.check import check_plan
from stockyard.selection.instance import as_whole
from stockyard.selection.search import _as_plan, select
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.timber import Costs, DefectKind, Job, Plan, Rule, Rules, Status, Stock


class Answer(StrEnum):
    """What came of asking."""

    YES = "yes"
    NO = "no"  # proved
    UNKNOWN = "unknown"  # no plan was found in the time given


@dataclass(frozen=True, slots=True)
class Asked:
    """An answer, with the plan that shows it when it is yes."""

    answer: Answer
    plan: Plan | None = None


@dataclass
class Feasibility:
    """Asks whether jobs can be made whole from one stock. deadline: by the monotonic clock.

    each: the most seconds spent on one question. thorough: False for one quick look that may miss a plan and
    then says unknown. out_of_time: True once an answer was cut short by the deadline.
    """

    stock: Stock
    deadline: float
    each: float = 6.0
    thorough: bool = True
    out_of_time: bool = field(default=False, init=False)

    def ask(self, job: Job, wishes: Wishes = NO_WISHES, stock: Stock | None = None) -> Asked:
        """Can every panel of the job be made?"""
        stock = stock or self.stock
        free_stock, free_job = penniless(stock, job)
        instance = as_whole(free_stock, free_job, wishes)
        ways = ways_of(instance)
        if not may_be_made(instance, ways):
            return Asked(Answer.NO)
        left = self.deadline - monotonic()
        if left <= 0.05:
            self.out_of_time = True
            return Asked(Answer.UNKNOWN)
        useful = set().union(*ways.values())
        some = replace(free_stock, boards=tuple(b for n, b in enumerate(free_stock.boards) if n in useful))
        plan = _quick_plan(some, free_job, wishes, min(left, self.each) / 3)
        if self.thorough and not all(panel.made for panel in plan.panels):
            left = self.deadline - monotonic()
            plan = select(some, free_job, seconds=max(0.1, min(left, self.each)), wishes=wishes)
        if all(panel.made for panel in plan.panels):
            return Asked(Answer.YES, plan)
        proved = plan.status in (Status.OPTIMAL, Status.INFEASIBLE)
        if not proved and left < self.each:
            self.out_of_time = True
        return Asked(Answer.NO if proved else Answer.UNKNOWN)


def _quick_plan(stock: Stock, job: Job, wishes: Wishes, seconds: float) -> Plan:
    """A plan by the broad search, stopped at the first one, whatever the size of the stock."""
    instance = as_whole(stock, job, wishes)
    ways = {
        timber.index: tuple(fit for demand in instance.demands for fit in fits(instance, timber, demand))
        for timber in instance.timbers
    }
    began = monotonic()
    found = Broad(instance, ways, began + seconds, lambda best, bound: best is not None).search()
    plan = _as_plan(instance, ways, (), replace(found, proved=False), monotonic() - began)
    if any(made.made for made in plan.panels) and check_plan(replace(plan, rejected=()), stock):
        return replace(plan, panels=tuple(replace(made, staves=()) for made in plan.panels))
    return plan


def penniless(stock: Stock, job: Job) -> tuple[Stock, Job]:
    """The same stock and job with nothing worth or costing anything; what is lawful stays so."""
    nothing = Decimal(0)

    def free(rules: "dict[DefectKind, Rule]") -> dict[DefectKind, Rule]:
        return {
            kind: replace(rule, per_item=nothing, per_mm=nothing, penalty=nothing)
            for kind, rule in rules.items()
        }

    boards = tuple(replace(board, value=nothing) for board in stock.boards)
    rules = Rules(free(dict(job.rules.show)), free(dict(job.rules.back)))
    costs = Costs(handling=nothing, recovery=nothing, match=nothing, ring_break=nothing)
    return replace(stock, boards=boards), replace(job, costs=costs, rules=rules)
