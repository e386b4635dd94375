"""What a board may be used for: the panels still to be made that it could give staves to, by its sizes alone.

    board_uses(open_work, number) -> tuple[BoardUse, ...]

Flaws, moisture and the company of other boards are for a selection to weigh; this only says which panels are
worth asking about.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stockyard.services.job_needs import NeededPanel, needed_panels

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork


@dataclass(frozen=True, slots=True)
class BoardUse:
    """A panel that is still to be made, and why the board cannot go into it; "" where it may."""

    panel: NeededPanel
    why_not: str


def board_uses(open_work: "OpenWork", number: str) -> tuple[BoardUse, ...]:
    """Panels of the board's species that no allocated or cut plan makes. Raises NotFound."""
    with open_work(reading=True) as work:
        piece = work.pieces.get(number)
        wanted = [panel for panel in needed_panels(work) if piece.species in panel.species]
    uses = []
    for panel in wanted:
        why_not = ""
        if piece.length_mm < panel.length_mm:
            why_not = f"it is {panel.length_mm - piece.length_mm:g} mm too short"
        elif piece.thickness_mm < panel.thickness_mm:
            why_not = f"it is {panel.thickness_mm - piece.thickness_mm:g} mm too thin"
        elif piece.thickness_mm < panel.rough_mm:
            why_not = f"it leaves no {panel.rough_mm - panel.thickness_mm:g} mm for planing both faces"
        uses.append(BoardUse(panel, why_not))
    return tuple(uses)
