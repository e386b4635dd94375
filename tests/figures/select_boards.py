"""How soon and how well boards are selected, against a person's habits and the whole model given at once.

    python -m tests.figures.select_boards JOB COUNT SECONDS SEED...     JOB: bench, or a number of panels
    python -m tests.figures.select_boards reading COUNT SEED...         reading a stock file against json.load

One line for each stock. First, 1 % and 2 % are the times at which a plan was there, and one within so much of
the last bound; proof is when plan and bound met. The whole model is every section of every board listed, the
model that small stocks are planned by, given to HiGHS and to CP-SAT for as long as the selection had; what
cannot be listed in that time says so.
"""

import json
import resource
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from stockyard.selection import Progress, check_plan, read_stock, select
from stockyard.selection.interchange import stock_document
from stockyard.timber import Job, Stock
from tests.figures.by_hand import cheapest_first, in_rack_order
from tests.figures.record import record
from tests.figures.stocks import a_stock, bench_and_sides, many_panels
from tests.figures.whole_model import by_cp_sat, by_highs


def main(what: str, *rest: str) -> None:
    """Measure and record, some rows for each seed."""
    if what == "reading":
        for seed in rest[1:]:
            reading(int(rest[0]), int(seed))
        return
    count, seconds, *seeds = rest
    job = bench_and_sides() if what == "bench" else many_panels(int(what))
    select(a_stock(40, 1), bench_and_sides(), seconds=5)  # whatever has to be compiled is compiled now
    for seed in seeds:
        one(a_stock(int(count), int(seed)), job, float(seconds), f"{count} boards, {job.id}", seed)


def one(stock: Stock, job: Job, seconds: float, group: str, seed: str) -> None:
    """One stock: the selection, and what else there is to set beside it."""
    seen: list[Progress] = []
    began = perf_counter()
    plan = select(stock, job, seconds=seconds, on_progress=seen.append)
    spent = perf_counter() - began
    assert check_plan(plan, stock) == ()
    made = sum(panel.made for panel in plan.panels)
    told = f"{plan.status.value}, {made} of {len(plan.panels)} panels, limit {seconds:g} s"
    # A cheaper plan than the last, before it, made fewer panels.
    full = [p for p in seen if p.best is not None and p.best >= float(plan.cost) - 1e-5]
    within = {share: _reached(full, float(plan.bound) * (1 + share)) for share in (0.01, 0.02)}
    rows = [
        ("select", spent, "s"),
        ("select first plan", _reached(seen, float("inf")), "s"),
        ("select within 1 %", within[0.01], "s"),
        ("select within 2 %", within[0.02], "s"),
        ("select gap", 100 * plan.gap, "%"),
    ]
    for name, value, unit in rows:
        if value is not None:
            record(name, group, value, unit, seeds=seed, note=told)
    others: dict[str, str] = {}
    for name, by_hand in (("rack order", in_rack_order), ("cheapest first", cheapest_first)):
        theirs = by_hand(stock.boards, job)
        others[name] = "cannot" if theirs is None else f"{float(plan.cost_parts.timber / theirs):.2f}"
        if theirs:
            ratio = float(plan.cost_parts.timber / theirs)
            record("timber value cut", group, ratio, "x", baseline=name, seeds=seed)
    for name, solve in (("whole model, HiGHS", by_highs), ("whole model, CP-SAT", by_cp_sat)):
        cost, note = solve(stock, job, seconds)
        others[name] = note if cost is None else f"{float(plan.cost) / cost:.3f} ({note})"
        if cost:
            record("cost", group, float(plan.cost) / cost, "x", baseline=name, seeds=seed, note=note)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    record("select memory", group, peak, "MiB", seeds=seed, note="peak of the whole process so far")
    print(
        f"{group}, seed {seed}: {told}; {_s(spent)} in all, first {_s(rows[1][1])}, 1 % {_s(within[0.01])},"
        f" 2 % {_s(within[0.02])}, gap {100 * plan.gap:.2f} %, {peak:.0f} MiB; "
        + ", ".join(f"{name} {how}" for name, how in others.items()),
        flush=True,
    )


def reading(count: int, seed: int) -> None:
    """Reading a stock file, as so many times what the standard library takes to parse it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stock.json"
        path.write_text(json.dumps(stock_document(a_stock(count, seed)), default=str))
        began = perf_counter()
        with path.open() as file:
            json.load(file)
        plain = perf_counter() - began
        began = perf_counter()
        stock = read_stock(path.read_text())
        spent = perf_counter() - began
    assert len(stock.boards) == count
    record("read a stock file", f"{count} boards", spent / plain, "x", baseline="json.load", seeds=str(seed))
    print(f"reading {count} boards: {spent:.2f} s, {spent / plain:.1f} times json.load")


def _reached(seen: list[Progress], cost: float) -> float | None:
    """When a plan that cheap was first there."""
    return next((p.seconds for p in seen if p.best is not None and p.best <= cost), None)


def _s(seconds: float | None) -> str:
    return "never" if seconds is None else f"{seconds:.2f} s"


if __name__ == "__main__":
    main(*sys.argv[1:])
