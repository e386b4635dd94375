"""The whole model of a selection given at once to a solver: every section of every board listed, in one.

This is how small stocks are planned. On larger ones it is what a yard would come to that listed first and
thought afterwards; the listing has the first half of the time, the solver what is left.
"""

from time import monotonic

from ortools.sat.python import cp_model

from stockyard.selection.cells import fits
from stockyard.selection.contents import layout_size
from stockyard.selection.instance import as_whole
from stockyard.selection.linear import Model
from stockyard.selection.lines import Lines
from stockyard.selection.master import Master
from stockyard.selection.offers import offers_of
from stockyard.selection.search import SMALL
from stockyard.selection.sections import Sections
from stockyard.timber import Job, Stock

CENTS = 10_000  # parts of a unit of money that CP-SAT counts in


def by_highs(stock: Stock, job: Job, seconds: float) -> tuple[float | None, str]:
    """Cost of the plan HiGHS finds with all panels made, None where there is none; and how it went."""
    until = monotonic() + seconds
    model, note = _model(stock, job, monotonic() + seconds / 2)
    if model is None:
        return None, note
    answer = model.solve(until - monotonic())
    return None if answer.values is None else answer.objective, answer.outcome.name.lower()


def by_cp_sat(stock: Stock, job: Job, seconds: float) -> tuple[float | None, str]:
    """The same by CP-SAT, its costs in whole ten-thousandths."""
    until = monotonic() + seconds
    model, note = _model(stock, job, monotonic() + seconds / 2)
    if model is None:
        return None, note
    cp = cp_model.CpModel()
    columns = [
        cp.new_int_var(round(low), round(min(high, 1e6)), "")
        for low, high in zip(model.lows, model.highs, strict=True)
    ]
    for row, (low, high) in enumerate(zip(model.row_lows, model.row_highs, strict=True)):
        terms = range(model.starts[row], model.starts[row + 1])
        total = sum(round(model.coefficients[n]) * columns[model.columns[n]] for n in terms)
        cp.add_linear_constraint(total, max(-(10**9), round(max(low, -1e9))), round(min(high, 1e9)))
    cp.minimize(sum(round(cost * CENTS) * column for cost, column in zip(model.costs, columns, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.1, until - monotonic())
    solver.parameters.num_workers = 2
    status = solver.solve(cp)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return solver.objective_value / CENTS if found else None, solver.status_name(status).lower()


def _model(stock: Stock, job: Job, until: float) -> tuple[Model | None, str]:
    instance = as_whole(stock, job)
    offers = []
    for timber in instance.timbers:
        theirs = [fit for demand in instance.demands for fit in fits(instance, timber, demand)]
        if not theirs:
            continue
        sections = Sections(instance, timber, theirs)
        steps = layout_size(sections.kinds, timber.width, instance.cuts.kerf, SMALL // timber.width)
        if steps * timber.width >= SMALL // 100:
            return None, f"board {timber.index + 1} of {len(stock.boards)} is too much to list"
        lines = Lines(sections, sections.spans(), deadline=until)
        if not lines.complete:
            return None, f"{timber.index + 1} of {len(stock.boards)} boards listed"
        offers += offers_of(lines)
    master = Master(instance, offers)
    master.model.add_row(master.made_columns(master.demands), low=float(len(master.demands)))
    return master.model, ""
