"""Ask why a board is out of a job's panels, or why a panel cannot be made, and what would help."""

from dataclasses import dataclass

from stockyard.errors import NotFound
from stockyard.selection.answers.cases import case_of
from stockyard.selection.answers.conflict import Conflict, conflict_of
from stockyard.selection.answers.nearmiss import Remedy, remedies
from stockyard.selection.answers.obstacles import Obstacle, obstacles
from stockyard.services.problem import Problem, refuse_unknown_panel

__all__ = ["Conflict", "Remedy", "WhyNot", "why_board", "why_panel"]


@dataclass(frozen=True, slots=True)
class WhyNot:
    """A board and one panel. obstacles: every reason that keeps it out, none where it suits.

    remedies: the least changes that let it in, least first.
    """

    board: str
    panel: str
    obstacles: tuple[Obstacle, ...]
    remedies: tuple[Remedy, ...]


def why_board(problem: Problem, board: str) -> tuple[WhyNot, ...]:
    """How a board stands to each panel of the job.

    Raises NotFound for no such board.
    """
    if board not in {each.id for each in problem.stock.boards}:
        raise NotFound("board in the stock", board)
    found = []
    for panel in problem.job.panels:
        case = case_of(problem.stock, problem.job, board, panel.id)
        found.append(WhyNot(board, panel.id, obstacles(case), remedies(case)))
    return tuple(found)


def why_panel(problem: Problem, panel: str, *, seconds: float = 20.0) -> Conflict | None:
    """Why a panel cannot be made beside those that go before it; None when it can.

    Raises NotFound for no such panel.
    """
    refuse_unknown_panel(problem.job, panel)
    return conflict_of(problem.stock, problem.job, panel, seconds=seconds)
