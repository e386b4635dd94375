"""How soon and how well boards are selected, against what a person does by hand.

python -m tests.figures.select_boards JOB COUNT SECONDS SEED...     JOB: bench, or a number of panels
"""

import resource
import sys
from time import perf_counter

from stockyard.selection import check_plan, select
from stockyard.timber import Job
from tests.figures.by_hand import cheapest_first, in_rack_order
from tests.figures.record import record
from tests.figures.stocks import a_stock, bench_and_sides, many_panels


def main(job_name: str, count: str, seconds: str, *seeds: str) -> None:
    """Measure and record, a row for each figure and seed."""
    job: Job = bench_and_sides() if job_name == "bench" else many_panels(int(job_name))
    for seed in seeds:
        stock = a_stock(int(count), int(seed))
        group = f"{count} boards, {job.id}"
        began = perf_counter()
        plan = select(stock, job, seconds=float(seconds))
        spent = perf_counter() - began
        assert check_plan(plan, stock) == ()
        made = sum(panel.made for panel in plan.panels)
        told = f"{plan.status.value}, {made} of {len(plan.panels)} panels, limit {seconds} s"
        record("select", group, spent, "s", seeds=seed, note=told)
        record("select gap", group, 100 * plan.gap, "%", seeds=seed, note=told)
        for name, by_hand in (("rack order", in_rack_order), ("cheapest first", cheapest_first)):
            theirs = by_hand(stock.boards, job)
            if theirs:
                ours = plan.cost_parts.timber
                record("timber value cut", group, float(ours / theirs), "x", baseline=name, seeds=seed)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        record("select memory", group, peak, "MiB", seeds=seed, note="peak of the whole process")


if __name__ == "__main__":
    main(*sys.argv[1:])
