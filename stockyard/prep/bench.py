"""The bench sheet of a plan: marks, treatments, joints, glue-ups, and the order of work with its dates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from stockyard.errors import BadInput
from stockyard.prep.cautions import Hazard, cautions
from stockyard.prep.gluing import GlueHabits, GlueUp, glue_ups
from stockyard.prep.joints import JointHabits, JointKind, JointLine, joint_layout
from stockyard.prep.quote import Work
from stockyard.prep.schedule import ScheduledStep, WorkingHours, WorkStep, schedule
from stockyard.prep.treatment import TreatmentHabits, TreatmentNeed, treatment_needs
from stockyard.timber import Allowances, Board, MadePanel, Panel, Plan
from stockyard.timber.step import StepKind


@dataclass(frozen=True, slots=True)
class WorkHabits:
    """How long the workshop takes, how it finishes. Habits without a published source; the label goes first.

    *_minutes: of work, for each thing named. condition_hours: boards stand in the shop before they are cut.
    grits: of sanding; sand_minutes: for a square metre and a grit. coats, coat_minutes: for a square metre.
    recoat_hours: between coats; cure_hours: after the last.
    """

    condition_hours: float = 72.0
    dock_minutes: float = 5.0
    rip_minutes: float = 5.0
    joint_minutes: float = 5.0
    slot_minutes: float = 1.5
    treat_minutes: float = 10.0
    fit_minutes: float = 15.0
    glue_minutes: float = 30.0
    clean_minutes: float = 10.0
    flatten_minutes: float = 20.0
    trim_minutes: float = 10.0
    grits: tuple[int, ...] = (80, 120, 180, 240)
    sand_minutes: float = 8.0
    coats: int = 3
    coat_minutes: float = 10.0
    recoat_hours: float = 6.0
    cure_hours: float = 72.0


@dataclass(frozen=True, slots=True)
class PrepHabits:
    """All that a workshop may set for the road to the bench."""

    treatment: TreatmentHabits = field(default_factory=TreatmentHabits)
    joints: JointHabits = field(default_factory=JointHabits)
    glue: GlueHabits = field(default_factory=GlueHabits)
    work: WorkHabits = field(default_factory=WorkHabits)
    hours: WorkingHours = field(default_factory=WorkingHours)


@dataclass(frozen=True, slots=True)
class StaveMark:
    """What is chalked on a stave: its number in the panel, its face mark, which end goes first, its edges.

    low_edge, high_edge: "outer", or the number of the stave it is glued to.
    """

    number: int
    board: str
    face: str
    end: str
    low_edge: str
    high_edge: str


@dataclass(frozen=True, slots=True)
class PanelSheet:
    """One panel on the bench."""

    panel: str
    marks: tuple[StaveMark, ...]
    joints: tuple[JointLine, ...]
    glue_ups: tuple[GlueUp, ...]
    finish_m2: float


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """Everything a plan needs at the bench, in order."""

    job: str
    treatments: tuple[TreatmentNeed, ...]
    panels: tuple[PanelSheet, ...]
    steps: tuple[ScheduledStep, ...]
    cautions: tuple[str, ...]

    def work(self, coats: int) -> Work:
        """What the job takes besides timber, for a quote."""
        needs = self.treatments
        wicked = sum(need.volume_ml for need in needs if need.kind is StepKind.STABILISE)
        mixed = sum(need.mix.total_ml for need in needs if need.mix)
        glue = sum(one.glue_g for panel in self.panels for one in panel.glue_ups)
        return Work(
            minutes=_exact(sum(step.step.minutes for step in self.steps)),
            glue_g=_exact(glue),
            cyanoacrylate_ml=_exact(wicked),
            epoxy_ml=_exact(mixed),
            finish_m2=_exact(sum(panel.finish_m2 for panel in self.panels)),
            coats=coats,
        )


def bench_sheet(
    plan: Plan,
    boards: Mapping[str, Board],
    start: datetime,
    habits: PrepHabits | None = None,
    later_cuts_mm: Mapping[str, Sequence[float]] | None = None,
) -> BenchSheet:
    """The bench sheet of a plan that makes at least one panel.

    boards: by id, every board that gives a stave. start: when work may begin. later_cuts_mm: by panel, where
    the finished panel will be cut again. Raises BadInput when no panel is made or a board is missing.
    """
    habits = habits or PrepHabits()
    made = [panel for panel in plan.panels if panel.made]
    if not made:
        raise BadInput("The plan makes no panel, so there is nothing to prepare.")
    wanted = {panel.id: panel for panel in plan.job.panels}
    needs = treatment_needs(plan, boards, habits.treatment)
    sheets = tuple(
        _panel_sheet(
            panel,
            wanted[panel.id],
            boards,
            plan.job.allowances,
            habits,
            (later_cuts_mm or {}).get(panel.id, ()),
        )
        for panel in made
    )
    steps = schedule(work_steps(plan, needs, sheets, habits), start, habits.hours)
    hazards = {hazard for step in steps for hazard in step.step.hazards}
    return BenchSheet(plan.job.id, needs, sheets, steps, cautions(hazards, start.date()))


def stale_edges(steps: Sequence[ScheduledStep]) -> tuple[str, ...]:
    """Which glue-ups begin more than a day after their edges were jointed, by the words of their steps.

    Edges are best glued within about a day of machining: a habit of the trade.
    """
    jointed = next((step.ends for step in steps if step.step.name == "joint"), None)
    if jointed is None:
        return ()
    late = timedelta(days=1)
    return tuple(
        step.step.does.partition(":")[0]
        for step in steps
        if step.step.name == "glue" and step.begins - jointed > late
    )


def stave_marks(panel: MadePanel) -> tuple[StaveMark, ...]:
    """What to chalk on each stave, so that the panel goes together as it was planned."""
    last = len(panel.staves) - 1
    return tuple(
        StaveMark(
            place + 1,
            stave.board,
            f"face {stave.show} up",
            f"end {2 if stave.turned else 1} first",
            "outer" if place == 0 else str(place),
            "outer" if place == last else str(place + 2),
        )
        for place, stave in enumerate(panel.staves)
    )


def work_steps(
    plan: Plan, needs: Sequence[TreatmentNeed], sheets: Sequence[PanelSheet], habits: PrepHabits
) -> tuple[WorkStep, ...]:
    """The order of work for a plan: steps that have nothing to do are left out."""
    w, g = habits.work, habits.glue
    staves = sum(len(panel.staves) for panel in plan.panels)
    edges = sum(2 * (len(sheet.marks) - 1) for sheet in sheets)
    slots = sum(len(line.joints) for sheet in sheets for line in sheet.joints)
    grooves = sum(len(line.stretches) for sheet in sheets for line in sheet.joints)
    before = [need for need in needs if need.before_jointing]
    after = [need for need in needs if not need.before_jointing]
    area = sum(sheet.finish_m2 for sheet in sheets)
    blades, dusty = (Hazard.BLADES, Hazard.DUST), (Hazard.DUST,)
    docked, edged = w.dock_minutes * len(plan.boards), w.joint_minutes * edges
    steps = [
        WorkStep(
            "condition", "Stack the boards on stickers in the shop.", 15, w.condition_hours,
            "moisture evens out; read it again", (Hazard.HEAVY,),
        ),
        WorkStep("dock", f"Crosscut {len(plan.boards)} boards.", docked, hazards=blades),
        WorkStep("rip", f"Rip {staves} staves.", w.rip_minutes * staves, hazards=blades),
        *_treating("stabilise", before, w),
        WorkStep("joint", f"Joint {edges} edges; glue within a day.", edged, hazards=blades),
    ]  # fmt: skip
    if slots or grooves:
        kind = habits.joints.kind
        what = f"{slots} {kind} joints" if kind is not JointKind.SPLINE else f"{grooves} grooves"
        steps.append(
            WorkStep(
                "slot", f"Strike and cut {what}.", w.slot_minutes * (slots + 5 * grooves), hazards=blades
            )
        )
    # All panels' first glue-ups come before any second one: jointed edges should not wait long for glue.
    for stage in range(1, max((len(sheet.glue_ups) for sheet in sheets), default=0) + 1):
        for sheet in sheets:
            if stage > len(sheet.glue_ups):
                continue
            one = sheet.glue_ups[stage - 1]
            name = f"{sheet.panel}, stage {stage}" if len(sheet.glue_ups) > 1 else sheet.panel
            which = ", ".join(str(place + 1) for place in one.staves)
            fit = f"{name}: staves {which}, {one.clamps} clamps."
            steps.append(WorkStep("dry fit", fit, w.fit_minutes, of=sheet.panel))
            steps.append(
                WorkStep(
                    "glue", f"{name}: {one.glue_g:.0f} g of glue, {one.clamps} clamps, {one.cauls} cauls.",
                    w.glue_minutes, g.clamp_minutes / 60 + g.unstressed_hours, "clamped, then no stress",
                    of=sheet.panel, held_hours=g.clamp_minutes / 60,
                )
            )  # fmt: skip
    count = len(sheets)
    steps += [
        WorkStep("clean", "Scrape squeezed-out glue.", w.clean_minutes * count, hazards=dusty),
        WorkStep("flatten", "Level both faces.", w.flatten_minutes * count, hazards=(*blades, Hazard.HEAVY)),
        WorkStep("trim", "Trim one end square.", w.trim_minutes * count, hazards=blades),
        WorkStep("cut to length", "Cut the other end.", w.trim_minutes * count, hazards=blades),
        WorkStep("cut to width", "Rip both outer edges.", w.trim_minutes * count, hazards=blades),
        *_treating("fill", after, w),
        *(
            WorkStep("sand", f"Grit {grit}, all faces and edges.", w.sand_minutes * area, hazards=dusty)
            for grit in w.grits
        ),
        *(
            WorkStep(
                "finish", f"Coat {coat} of {w.coats}.", w.coat_minutes * area,
                w.recoat_hours if coat < w.coats else w.cure_hours,
                "until it may be coated again" if coat < w.coats else "cure", (Hazard.FINISH,),
            )
            for coat in range(1, w.coats + 1)
        ),
    ]  # fmt: skip
    return tuple(step for step in steps if step.minutes > 0)


def _treating(name: str, needs: Sequence[TreatmentNeed], habits: WorkHabits) -> list[WorkStep]:
    if not needs:
        return []
    hazards = tuple(dict.fromkeys(hazard for need in needs for hazard in need.hazards))
    which = ", ".join(need.defect for need in needs)
    wait = max(need.hours for need in needs)
    return [
        WorkStep(
            name, f"Treat {which}.", habits.treat_minutes * len(needs), wait, "until it is cured", hazards
        )
    ]


def _panel_sheet(
    made: MadePanel,
    panel: Panel,
    boards: Mapping[str, Board],
    allowances: Allowances,
    habits: PrepHabits,
    later_cuts_mm: Sequence[float],
) -> PanelSheet:
    last = len(made.staves) - 1
    widths = [
        stave.finished.width_mm + allowances.side_trim_mm * ((place == 0) + (place == last))
        for place, stave in enumerate(made.staves)
    ]
    length = panel.length_mm + 2 * allowances.end_trim_mm
    thickness = panel.thickness_mm + 2 * allowances.face_planing_mm
    area = 2 * (panel.length_mm * panel.width_mm + (panel.length_mm + panel.width_mm) * panel.thickness_mm)
    return PanelSheet(
        made.id,
        stave_marks(made),
        joint_layout(made, boards, habits.joints, later_cuts_mm),
        glue_ups(widths, length, thickness, habits.glue),
        area / 1e6,
    )


def _exact(value: float) -> Decimal:
    return Decimal(str(round(value, 4)))
