"""One board asked for one stave of one panel: does it suit, with this or that changed?"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from stockyard.selection.cells import Fit, fits
from stockyard.selection.instance import Demand, Instance, Timber, as_whole
from stockyard.selection.why import serves
from stockyard.timber import Board, Job, Panel, Stock


@dataclass(frozen=True)
class Case:
    """A board, the job's settings and the panel asked of it.

    reserved: why the board may not be used, None where it may.
    """

    board: Board
    job: Job
    panel: Panel
    reserved: str | None = None

    @property
    def instance(self) -> Instance:
        """The case alone, on whole millimetres."""
        held = {} if self.reserved is None else {self.board.id: self.reserved}
        return as_whole(Stock((self.board,), reserved=held), replace(self.job, panels=(self.panel,)))

    def suits(self) -> bool:
        """Is there a lawful place on the board for a stave of the panel?"""
        return serves(self.ways(self.instance))

    def ways(self, instance: Instance) -> Sequence[Fit]:
        """How its staves can lie, on an instance made of it."""
        return fits(instance, instance.timbers[0], instance.demands[0])

    def with_board(self, **changes: Any) -> "Case":
        """The case with other facts of its board."""
        return replace(self, board=replace(self.board, **changes))


def case_of(stock: Stock, job: Job, board_id: str, panel_id: str) -> Case:
    """The case of one board and one panel, by their ids, which have to be there."""
    board = next(board for board in stock.boards if board.id == board_id)
    panel = next(panel for panel in job.panels if panel.id == panel_id)
    return Case(board, job, panel, stock.reserved.get(board_id) if board_id in stock.reserved else None)


@dataclass(frozen=True)
class Measured:
    """The one board and the one panel of a case in whole mm."""

    instance: Instance
    timber: Timber = field(init=False)
    demand: Demand = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "timber", self.instance.timbers[0])
        object.__setattr__(self, "demand", self.instance.demands[0])
