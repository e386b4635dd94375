"""Rank boards for a panel by what using each would add to the best plan."""

from stockyard.selection.answers.suits import Suit, Suits, Unsuited, suits_of
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.services.problem import Problem, refuse_unknown_panel

__all__ = ["Suit", "Suits", "Unsuited", "rank_boards"]


def rank_boards(problem: Problem, panel: str, *, seconds: float = 20.0, wishes: Wishes = NO_WISHES) -> Suits:
    """Which boards suit a panel, what adds least first, and why each other does not.

    Raises NotFound for no such panel.
    """
    refuse_unknown_panel(problem.job, panel)
    return suits_of(problem.stock, problem.job, panel, seconds=seconds, wishes=wishes)
