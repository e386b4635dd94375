"""Foresee what a plan's panels do once they live where they go: spread, width over the year, room to move."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stockyard.moisture.movement import Grain, PanelMovement, Sawn, StaveWidth, panel_movement
from stockyard.moisture.readiness import PanelReadiness, ReadyRule, panel_readiness
from stockyard.services.air_of import Air, PlaceYear, destination_year
from stockyard.services.allocate_plan import plan_of
from stockyard.services.habits import habits_of, ready_rule
from stockyard.timber import MadePanel
from stockyard.timber.booked_plan import BookedPlan
from stockyard.timber.piece import Piece

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class PanelForesight:
    """What one panel will do.

    glued: may its staves be glued together for that place. most: with staves of unknown sawing taken as
    backsawn, which is what to allow for. least: with those taken as quartersawn; None where all are known.
    unknown: the boards whose sawing is not known.
    """

    panel: str
    glued: PanelReadiness
    most: PanelMovement
    least: PanelMovement | None
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MovementSheet:
    """A plan's panels in the place they go to, and which of its panels are not made."""

    plan: BookedPlan
    destination: PlaceYear
    rule: ReadyRule
    panels: tuple[PanelForesight, ...]
    not_made: tuple[str, ...]


def foresee_movement(
    open_work: "OpenWork",
    number: int,
    *,
    to: str | None = None,
    dry: Air | None = None,
    damp: Air | None = None,
    shank_mm: float = 5.0,
) -> MovementSheet:
    """What each panel of a plan does over the year at its destination.

    to: a logged place; dry, damp: the place's driest and dampest air by hand. shank_mm: of the screws.
    A stave's moisture is its own newest reading once it is cut, its board's before.
    Raises NotFound; BadInput when the destination is not known, a species has no movement figure, or a
    figure is improbable.
    """
    with open_work(reading=True) as work:
        booked = work.plans.get(number)
        plan = plan_of(work, booked)
        year = destination_year(work, to, dry, damp, work.today.year)
        rule = ready_rule(habits_of(work), plan.job.moisture)
        table = work.species.table()
        made = [panel for panel in plan.panels if panel.made]
        pieces = {panel.id: _pieces(work, number, panel) for panel in made}
    panels = []
    for panel in made:
        staves = _staves(panel, pieces[panel.id])
        unknown = tuple(dict.fromkeys(s.board for s in staves if s.grain.trade_name is Sawn.UNKNOWN))
        span = year.span
        most = panel_movement(staves, span.low_pct, span.high_pct, shank_mm=shank_mm, names=table)
        least = None
        if unknown:
            steep = [_quartersawn(stave) for stave in staves]
            least = panel_movement(steep, span.low_pct, span.high_pct, shank_mm=shank_mm, names=table)
        moistures = {_named(stave, staves, place): stave.moisture_pct for place, stave in enumerate(staves)}
        glued = panel_readiness(moistures, year.mean_pct, rule)
        panels.append(PanelForesight(panel.id, glued, most, least, unknown))
    return MovementSheet(
        booked, year, rule, tuple(panels), tuple(panel.id for panel in plan.panels if not panel.made)
    )


def _pieces(work: "UnitOfWork", number: int, panel: MadePanel) -> list[Piece]:
    """The piece behind each stave: the stave itself where the plan has been cut, else its board."""
    boards = work.pieces.get_many(stave.board for stave in panel.staves)
    children = {board: work.pieces.children(board) for board in boards}
    return [
        next(
            (
                child
                for child in children[stave.board]
                if (child.cut_by, child.panel, child.stave) == (number, panel.id, place)
            ),
            boards[stave.board],
        )
        for place, stave in enumerate(panel.staves)
    ]


def _staves(panel: MadePanel, pieces: Sequence[Piece]) -> list[StaveWidth]:
    return [
        StaveWidth(
            piece.number,
            piece.species,
            stave.finished.width_mm,
            piece.moisture_pct,
            Grain(ring_angle_deg=piece.ring_angle_deg),
        )
        for stave, piece in zip(panel.staves, pieces, strict=True)
    ]


def _quartersawn(stave: StaveWidth) -> StaveWidth:
    if stave.grain.trade_name is not Sawn.UNKNOWN:
        return stave
    return replace(stave, grain=Grain(Sawn.QUARTERSAWN))


def _named(stave: StaveWidth, staves: Sequence[StaveWidth], place: int) -> str:
    """A stave's board, with its place where one board gives several staves of the panel."""
    twice = sum(other.board == stave.board for other in staves) > 1
    return f"{stave.board} (stave {place + 1})" if twice else stave.board
