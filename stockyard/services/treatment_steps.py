"""The steps that a plan's treated defects ask for, before and after it is allocated."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from stockyard.prep.treatment import TreatmentNeed, treatment_needs
from stockyard.timber import Board, Plan, Stave
from stockyard.timber.mapped_defect import DefectState, MappedDefect
from stockyard.timber.piece import PieceStatus
from stockyard.timber.rack_query import RackQuery
from stockyard.timber.step import Before, Step, StepKind

if TYPE_CHECKING:
    from stockyard.records import UnitOfWork


def open_treatments(work: "UnitOfWork", plan: Plan, number: int) -> tuple[Step, ...]:
    """The steps that a plan's defects need as they stand in the books now."""
    query = RackQuery(numbers=tuple(cut.id for cut in plan.boards), status=tuple(PieceStatus))
    boards = {board.id: board for board in work.pieces.boards_for_selection(query)}
    return treatment_steps(plan, number, work.defects.of_pieces(boards), boards)


def treatment_steps(
    plan: Plan,
    number: int,
    defects: Mapping[str, Iterable[MappedDefect]],
    boards: Mapping[str, Board],
) -> tuple[Step, ...]:
    """One step for each defect that a plan treats, in the order of its staves.

    defects: those on each board's map. boards: by id. A defect that was treated before, or is off the map,
    needs no step; one that two staves share needs one.
    """
    still_open = {
        each.defect.id for some in defects.values() for each in some if each.state is DefectState.OPEN
    }
    panels = tuple(
        replace(panel, staves=tuple(_untreated(stave, still_open) for stave in panel.staves))
        for panel in plan.panels
    )
    methods = {
        treatment.defect: treatment.method
        for panel in panels
        for stave in panel.staves
        for treatment in stave.treat
    }
    steps: dict[str, Step] = {}
    for need in treatment_needs(replace(plan, panels=panels), boards):
        steps.setdefault(need.defect, _step(need, number, methods[need.defect]))
    return tuple(steps.values())


def _untreated(stave: Stave, still_open: set[str]) -> Stave:
    return replace(stave, treat=tuple(each for each in stave.treat if each.defect in still_open))


def _step(need: TreatmentNeed, number: int, method: str) -> Step:
    return Step(
        plan=number,
        piece=need.board,
        defect=need.defect,
        kind=need.kind,
        method=method,
        before=_before(need),
        quantity=_quantity(need),
    )


def _before(need: TreatmentNeed) -> Before:
    """A crack is held together before the saw can open it; a void can wait until the stave is cut.

    Common practice, no published source.
    """
    if need.kind is StepKind.STABILISE:
        return Before.CUTTING
    return Before.GLUE_UP if need.before_jointing else Before.FINISHING


def _quantity(need: TreatmentNeed) -> str:
    if need.mix is None:
        return f"{need.volume_ml:.1f} mL {need.product}"
    return f"{need.mix.total_ml:.1f} mL {need.product}"
