"""The steps that a plan's treated defects ask for, before and after it is allocated."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from stockyard.timber import Defect, Plan
from stockyard.timber.mapped_defect import DefectState, MappedDefect
from stockyard.timber.step import Before, Step, StepKind

if TYPE_CHECKING:
    from stockyard.timber.piece import Piece

FILLED_WITH = ("epoxy",)
"""Methods that fill a void; every other stabilises."""

COMES_BEFORE = {StepKind.STABILISE: Before.CUTTING, StepKind.FILL: Before.GLUE_UP}
"""A crack is held together before the saw can open it; a void may be filled once the stave is cut.

Common practice, no published source.
"""


def treatment_steps(
    plan: Plan,
    number: int,
    defects: Mapping[str, Iterable[MappedDefect]],
    boards: Mapping[str, "Piece"],
) -> tuple[Step, ...]:
    """One step for each defect that a plan treats, in the order of its staves.

    defects: those on each board's map. boards: by number. A defect that was treated before needs no step.
    """
    mapped = {each.defect.id: each for some in defects.values() for each in some}
    steps: dict[str, Step] = {}
    for panel in plan.panels:
        for stave in panel.staves:
            for treatment in stave.treat:
                found = mapped.get(treatment.defect)
                if found is None or found.state is not DefectState.OPEN:
                    continue
                kind = StepKind.FILL if treatment.method in FILLED_WITH else StepKind.STABILISE
                steps.setdefault(
                    treatment.defect,
                    Step(
                        plan=number,
                        piece=stave.board,
                        defect=treatment.defect,
                        kind=kind,
                        method=treatment.method,
                        before=COMES_BEFORE[kind],
                        quantity=_quantity(found.defect, kind, boards[stave.board].thickness_mm),
                    ),
                )
    return tuple(steps.values())


def _quantity(defect: Defect, kind: StepKind, thickness_mm: float) -> str:
    xs = [x for x, _ in defect.outline]
    length = f"{max(xs) - min(xs):.0f} mm long"
    if kind is StepKind.STABILISE:
        return f"{length}, until it takes no more"
    depth = thickness_mm if defect.through else defect.depth_mm
    if depth is None:
        return f"{length}, depth not measured"
    millilitres = _area_mm2(defect) * min(depth, thickness_mm) / 1000
    return f"{length}, a void of about {max(millilitres, 0.1):.1f} mL"


def _area_mm2(defect: Defect) -> float:
    corners = defect.outline
    turned = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in turned)) / 2
