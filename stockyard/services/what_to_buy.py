"""What to buy when the stock falls short of a job, from a price list and the workshop's own history."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stockyard.selection.answers.buying import Bought, Chance, Purchase, purchase_of
from stockyard.selection.answers.likely import History, Offer
from stockyard.services.price_list import read_price_list
from stockyard.services.problem import Problem
from stockyard.timber import Board
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork

__all__ = ["Bought", "Chance", "Offer", "Purchase", "bought_before", "read_price_list", "what_to_buy"]

EVERY_BOARD = RackQuery(
    kinds=(PieceKind.BOARD,), status=(PieceStatus.FREE, PieceStatus.PROMISED, PieceStatus.GONE)
)


def what_to_buy(
    problem: Problem,
    offers: Sequence[Offer],
    history: History | None = None,
    *,
    chance: float = 0.9,
    trials: int = 60,
    seconds: float = 60.0,
    seed: int = 1,
) -> Purchase:
    """The cheapest purchase from the offers with which the job is made as likely as `chance`.

    history: boards bought before, as `bought_before` finds them; without it the stock's own boards stand for
    what can be had of their species.
    """
    known = history or History(_by_species(problem.stock.boards))
    return purchase_of(
        problem.stock,
        problem.job,
        offers,
        known,
        chance=chance,
        trials=trials,
        seconds=seconds,
        seed=seed,
    )


def bought_before(open_work: "OpenWork") -> History:
    """Every board that ever came in, with its flaws as they are mapped, by species and supplier."""
    with open_work(reading=True) as work:
        suppliers = {piece.number: piece.supplier or "" for piece in work.pieces.find(EVERY_BOARD)}
        found: dict[tuple[str, str], list[Board]] = {}
        for board in work.pieces.boards_for_selection(EVERY_BOARD):
            found.setdefault((board.species, suppliers.get(board.id, "")), []).append(board)
    return History(found)


def _by_species(boards: Sequence[Board]) -> dict[tuple[str, str], list[Board]]:
    found: dict[tuple[str, str], list[Board]] = {}
    for board in boards:
        found.setdefault((board.species, ""), []).append(board)
    return found
