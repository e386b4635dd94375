"""Prepare a plan for the bench: treatments, joints, glue-ups and the order of work with its dates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.prep.bench import BenchSheet, PrepHabits, bench_sheet, stale_edges
from stockyard.prep.joints import DOWELS, SPLINE, JointKind
from stockyard.services.air_of import shop_air
from stockyard.services.allocate_plan import plan_of
from stockyard.services.habits import habits_of, own_or_default
from stockyard.timber import Board, Plan
from stockyard.timber.booked_plan import BookedPlan, PlanStatus
from stockyard.timber.mapped_defect import DefectState

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class PreparedPlan:
    """A plan's bench sheet.

    done: defects of the plan that the books say are treated already. figures: whose the figures are.
    notes: what a reader has to know first.
    """

    booked: BookedPlan
    plan: Plan
    sheet: BenchSheet
    habits: PrepHabits
    done: tuple[str, ...]
    figures: str
    notes: tuple[str, ...]


def prepare_plan(
    open_work: "OpenWork",
    number: int,
    *,
    start: date | None = None,
    joint: JointKind | None = None,
    later_cuts_mm: Mapping[str, Sequence[float]] | None = None,
) -> PreparedPlan:
    """The bench sheet of a plan, as its boards stand in the books.

    start: the day on which work begins; now when None. joint: instead of the workshop's usual joint.
    later_cuts_mm: by panel, where the finished panel will be cut again, in mm from its first end.
    Raises NotFound, and BadInput for a later cut of a panel that the plan does not make or outside it.
    """
    with open_work(reading=True) as work:
        booked = work.plans.get(number)
        plan = plan_of(work, booked)
        boards = seen_boards(booked)
        _check_cuts(plan, later_cuts_mm or {})
        habits = habits_of(work)
        prep = _with_joint(habits.prep, joint)
        open_plan, done = without_treated(work, plan)
        begins = work.now if start is None else datetime.combine(start, time(), work.now.tzinfo)
        sheet = bench_sheet(open_plan, boards, begins, prep, later_cuts_mm)
        notes = (*_notes(work, booked, prep), *_edges(sheet))
    return PreparedPlan(
        booked, plan, sheet, prep, done, "; ".join(
            f"{name}: {own_or_default(habits, name)}" for name in ("treatment", "joints", "glue", "work")
        ), notes
    )  # fmt: skip


def seen_boards(booked: BookedPlan) -> dict[str, Board]:
    """The boards of a plan as it saw them, by number."""
    from stockyard.selection import read_stock

    return {board.id: board for board in read_stock(dict(booked.stock)).boards}


def without_treated(work: "UnitOfWork", plan: Plan) -> tuple[Plan, tuple[str, ...]]:
    """The plan without the treatments that the books say are done, and the defects those were for."""
    wanted = {t.defect for panel in plan.panels for stave in panel.staves for t in stave.treat}
    maps = work.defects.of_pieces([cut.id for cut in plan.boards])
    done = {
        mapped.defect.id
        for some in maps.values()
        for mapped in some
        if mapped.state is not DefectState.OPEN and mapped.defect.id in wanted
    }
    panels = tuple(
        replace(
            panel,
            staves=tuple(
                replace(stave, treat=tuple(t for t in stave.treat if t.defect not in done))
                for stave in panel.staves
            ),
        )
        for panel in plan.panels
    )
    return replace(plan, panels=panels), tuple(sorted(done))


def _with_joint(prep: PrepHabits, joint: JointKind | None) -> PrepHabits:
    if joint is None or joint is prep.joints.kind:
        return prep
    usual = {JointKind.DOWEL: DOWELS, JointKind.SPLINE: SPLINE}.get(joint, replace(prep.joints, kind=joint))
    return replace(prep, joints=usual)


def _check_cuts(plan: Plan, cuts: Mapping[str, Sequence[float]]) -> None:
    lengths = {panel.id: panel.length_mm for panel in plan.job.panels}
    made = {panel.id for panel in plan.panels if panel.made}
    faults = []
    for panel, places in cuts.items():
        if panel not in made:
            faults.append(Fault("later cut", f"a panel of the plan ({', '.join(sorted(made))})", panel))
            continue
        faults += [
            Fault(f"later cut of {panel}", f"0 to {lengths[panel]:g} mm", f"{x:g}")
            for x in places
            if not 0 <= x <= lengths[panel]
        ]
    if faults:
        raise BadInput("The plan cannot be prepared so.", faults)


def _edges(sheet: BenchSheet) -> tuple[str, ...]:
    late = stale_edges(sheet.steps)
    if not late:
        return ()
    return (
        f"Jointed more than a day before glue-up: {'; '.join(late)}. Take a light pass off the edges first.",
    )


def _notes(work: "UnitOfWork", booked: BookedPlan, prep: PrepHabits) -> tuple[str, ...]:
    notes = []
    if booked.status is PlanStatus.PROPOSED:
        notes.append(f"Nothing is promised yet: `stockyard allocate {booked.number}` first.")
    elif booked.status is PlanStatus.RELEASED:
        notes.append("The plan was released; its boards may be used elsewhere.")
    elif booked.status is PlanStatus.CUT:
        notes.append("Its boards are cut already; the sheet still counts conditioning, docking and ripping.")
    try:
        air = shop_air(work)
        notes.append(f"The shop's air holds wood at {air.emc_pct:.1f} % ({air.said}).")
    except BadInput:
        notes.append("The shop's air was never logged; `stockyard ready` tells whether boards are dry.")
    notes.append(f"Do not glue below {prep.glue.least_c:g} °C, or the label's own limit if it is higher.")
    return tuple(notes)
