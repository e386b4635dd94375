"""A stave together with everything its rules look at."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from stockyard.geometry.frames import upside_down
from stockyard.selection.check.whole_mm import exact
from stockyard.timber import Board, Panel, Plan, Stave, Stock


@dataclass(frozen=True, slots=True)
class Laid:
    """Stave number `place` (0 first) of the `count` staves of `panel`, cut from `board`.

    where: its place in the plan's document.
    """

    where: str
    stave: Stave
    board: Board
    panel: Panel
    place: int
    count: int

    @property
    def low_edge_outer(self) -> bool:
        """Is the board's low-y edge of the stave an outer edge of the panel, not a glued one?"""
        return self._outer(high_in_panel=self._flipped)

    @property
    def high_edge_outer(self) -> bool:
        """Is the board's high-y edge of the stave an outer edge of the panel, not a glued one?"""
        return self._outer(high_in_panel=not self._flipped)

    @property
    def length_share(self) -> Fraction:
        """The rough stave's length as a share of its board's."""
        return Fraction(self.stave.rough.length_mm) / exact(self.board.length_mm)

    @property
    def width_share(self) -> Fraction:
        """The rough stave's width as a share of its board's."""
        return Fraction(self.stave.rough.width_mm) / exact(self.board.width_mm)

    def straightening_mm(self, rough_length_mm: int) -> int:
        """What straightening the curved edge takes of the stave's width. [whole mm, up]

        The sagitta of a shorter piece falls with the square of its length.
        """
        share = Fraction(rough_length_mm) / exact(self.board.length_mm)
        return ceil(exact(self.board.distortion.spring_mm) * share**2)

    @property
    def _flipped(self) -> bool:
        return upside_down(self.stave.show, self.stave.turned)

    def _outer(self, *, high_in_panel: bool) -> bool:
        return self.place == self.count - 1 if high_in_panel else self.place == 0


def laid_staves(plan: Plan, stock: Stock) -> tuple[Laid, ...]:
    """Every stave of the plan whose panel and board there are; the others are found missing elsewhere."""
    boards = {board.id: board for board in stock.boards}
    wanted = {panel.id: panel for panel in plan.job.panels}
    return tuple(
        Laid(f"panels[{p}].staves[{s}]", stave, boards[stave.board], wanted[made.id], s, len(made.staves))
        for p, made in enumerate(plan.panels)
        for s, stave in enumerate(made.staves)
        if made.id in wanted and stave.board in boards
    )
