"""Rank boards for a panel by what using each would add to the best plan."""

from typing import Any

from stockyard.selection.answers.suits import Suit, Suits, Unsuited, suits_of
from stockyard.selection.wishes import NO_WISHES, Wishes
from stockyard.services.problem import Problem, refuse_unknown_panel

__all__ = ["Suit", "Suits", "Unsuited", "rank_boards", "ranking_told"]


def rank_boards(problem: Problem, panel: str, *, seconds: float = 20.0, wishes: Wishes = NO_WISHES) -> Suits:
    """Which boards suit a panel, what adds least first, and why each other does not.

    Raises NotFound for no such panel.
    """
    refuse_unknown_panel(problem.job, panel)
    return suits_of(problem.stock, problem.job, panel, seconds=seconds, wishes=wishes)


def ranking_told(found: Suits) -> dict[str, Any]:
    """A ranking as plain JSON: boards that suit with what each adds, and why each other does not.

    made: was a plan found that makes the panel? Of a board that does not suit, "why" holds a sentence for
    each reason, "kind" their words, and "remedies" what would let it in, each a list of changes.
    """
    return {
        "panel": found.panel,
        "made": found.panel in {each.id for each in found.best.panels if each.made},
        "best": float(found.best.cost),
        "proof": found.best.status.value,
        "suited": [
            {
                "board": each.board,
                "adds": None if each.adds is None else float(each.adds),
                "at_least": float(each.at_least),
                "proved": each.proved,
            }
            for each in found.suited
        ],
        "unsuited": [
            {
                "board": each.board,
                "kind": [obstacle.why for obstacle in each.obstacles],
                "why": [obstacle.detail for obstacle in each.obstacles],
                "remedies": [[change.detail for change in remedy.changes] for remedy in each.remedies],
            }
            for each in found.unsuited
        ],
    }
