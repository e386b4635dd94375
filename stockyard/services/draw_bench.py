"""Draw a plan's bench sheet, with the layouts of its panels behind it."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from stockyard.drawings.drawing import Drawing
from stockyard.drawings.written import written_sheets
from stockyard.prep.joints import JointKind
from stockyard.services.bench_paper import bench_blocks
from stockyard.services.draw_sheets import line_joints, panel_pages
from stockyard.services.plan_job import KeptPlan
from stockyard.services.prepare_plan import PreparedPlan, prepare_plan, seen_boards

if TYPE_CHECKING:
    from stockyard.records import OpenWork

FOOT = "The product's label and safety sheet, and local rules, come before this sheet. Lengths in mm."


def draw_bench(
    open_work: "OpenWork",
    number: int,
    *,
    start: date | None = None,
    joint: JointKind | None = None,
    later_cuts_mm: Mapping[str, Sequence[float]] | None = None,
) -> Drawing:
    """The bench sheet of a plan as pages: what `prepare_plan` tells, and each panel's layout.

    Raises what `prepare_plan` raises.
    """
    return bench_drawing(
        prepare_plan(open_work, number, start=start, joint=joint, later_cuts_mm=later_cuts_mm)
    )


def bench_drawing(prepared: PreparedPlan) -> Drawing:
    """A prepared plan as pages."""
    booked = prepared.booked
    habits = prepared.habits.joints
    kept = KeptPlan(booked, prepared.plan, seen_boards(booked))
    joints = {panel.panel: line_joints(panel.joints, habits) for panel in prepared.sheet.panels}
    pages = written_sheets(
        booked.job,
        f"bench sheet of plan {booked.number}",
        bench_blocks(prepared),
        under=[f"Plan {booked.number} is {booked.status.value}."],
        foot=(FOOT, ""),
    )
    pages += panel_pages(kept, joints, [panel.panel for panel in prepared.sheet.panels])
    title = f"Bench sheet of plan {booked.number} for {booked.job}"
    return Drawing(f"bench-{booked.number}", title, tuple(pages))
