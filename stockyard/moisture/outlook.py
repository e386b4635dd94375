"""What a planned panel is and will be at its destination: may it be glued, and what will its width do?"""

from collections.abc import Mapping
from dataclasses import dataclass

from stockyard.errors import BadInput, Fault
from stockyard.moisture.climate import EmcSpan
from stockyard.moisture.movement import Grain, PanelMovement, StaveWidth, panel_movement
from stockyard.moisture.readiness import PanelReadiness, ReadyRule, panel_readiness
from stockyard.timber import Board, MadePanel
from stockyard.timber.species import SpeciesTable


@dataclass(frozen=True, slots=True)
class PanelOutlook:
    """One panel of a plan. destination_pct: midway between the driest and the dampest of its year."""

    panel: str
    destination_pct: float
    readiness: PanelReadiness
    movement: PanelMovement


def panel_outlook(
    panel: MadePanel,
    boards: Mapping[str, Board],
    span: EmcSpan,
    *,
    grains: Mapping[str, Grain] | None = None,
    rule: ReadyRule | None = None,
    shank_mm: float = 5.0,
    names: SpeciesTable | None = None,
) -> PanelOutlook:
    """A made panel's readiness and movement at the place it goes to.

    boards: by id, every board that gives a stave, with its newest corrected moisture. span: of the air there.
    grains: how boards were sawn, by id, where it is known. The staves' finished widths are summed.
    Raises BadInput when the panel is not made, a board is missing, or a species' movement is not known.
    """
    if not panel.made:
        raise BadInput(f"Panel {panel.id} is not made: {panel.why or 'no reason is given'}.")
    missing = sorted({stave.board for stave in panel.staves} - boards.keys())
    if missing:
        raise BadInput(
            "The panel's boards are not all there.", [Fault("boards", f"board {b}") for b in missing]
        )
    known = grains or {}
    destination = (span.low_pct + span.high_pct) / 2
    used = {stave.board: boards[stave.board] for stave in panel.staves}
    staves = [
        StaveWidth(
            stave.board,
            used[stave.board].species,
            stave.finished.width_mm,
            used[stave.board].moisture_pct,
            known.get(stave.board, Grain()),
        )
        for stave in panel.staves
    ]
    moistures = {number: board.moisture_pct for number, board in used.items()}
    return PanelOutlook(
        panel.id,
        destination,
        panel_readiness(moistures, destination, rule),
        panel_movement(staves, span.low_pct, span.high_pct, shank_mm=shank_mm, names=names),
    )
