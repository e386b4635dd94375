"""How likely a plan survives machining, and which board to put aside for it."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from stockyard.selection.answers.survival import Loss, Range, Spare, Steadier, Survival, survival_of
from stockyard.services.allocate_plan import plan_of
from stockyard.services.problem import Problem
from stockyard.timber import Board, Plan
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork

__all__ = ["Loss", "LossHistory", "Range", "Spare", "Steadier", "Survival", "losses_before", "put_aside"]

USUAL_LOSS = 0.03
"""Chance that a stave is lost where nothing is known. Common practice, no published source."""

WEIGHT = 20
"""How many staves of experience the chance before them counts for."""

EVERY_STAVE = RackQuery(
    kinds=(PieceKind.STAVE,), status=(PieceStatus.IN_WORK, PieceStatus.PROMISED, PieceStatus.GONE)
)


@dataclass(frozen=True)
class LossHistory:
    """Staves cut and staves lost at the saw, by species and supplier."""

    cut: Mapping[tuple[str, str], int] = field(default_factory=dict)
    lost: Mapping[tuple[str, str], int] = field(default_factory=dict)
    usual: float = USUAL_LOSS

    def chance(self, species: str, supplier: str) -> float:
        """That a stave of this species and supplier is lost, 0 to 1.

        The usual chance is moved towards what happened to the species, and that towards what happened to the
        species from this supplier, by how many staves speak for each.
        """
        of_species = [key for key in self.cut if key[0] == species]
        first = self._moved(
            self.usual,
            sum(self.lost.get(key, 0) for key in of_species),
            sum(self.cut[key] for key in of_species),
        )
        key = species, supplier
        return self._moved(first, self.lost.get(key, 0), self.cut.get(key, 0))

    def _moved(self, before: float, lost: int, cut: int) -> float:
        return (lost + WEIGHT * before) / (cut + WEIGHT)


def put_aside(
    problem: Problem,
    plan: Plan,
    history: LossHistory | None = None,
    *,
    chance: float | Mapping[str, float] | None = None,
    seconds: float = 20.0,
) -> Survival:
    """How a plan stands up to staves lost in machining.

    chance: of each stave, or of one by its species, in place of the history's.
    """
    known = history or LossHistory()
    given = chance if isinstance(chance, Mapping) else {}

    def of(board: Board) -> float:
        if isinstance(chance, int | float):
            return chance
        by_history = known.chance(board.species, problem.suppliers.get(board.id, ""))
        return given.get(board.species, by_history)

    chances = {board.id: of(board) for board in problem.stock.boards}
    return survival_of(plan, problem.stock, chances, seconds=seconds)


def losses_before(open_work: "OpenWork") -> LossHistory:
    """Staves of every plan that was cut, and those of them that never came off the saw sound."""
    cut: Counter[tuple[str, str]] = Counter()
    lost: Counter[tuple[str, str]] = Counter()
    with open_work(reading=True) as work:
        sound = {
            (piece.cut_by, piece.panel, piece.stave)
            for piece in work.pieces.find(EVERY_STAVE)
            if piece.cut_by
        }
        for booked in work.plans.find(status=PlanStatus.CUT):
            plan = plan_of(work, booked)
            boards = work.pieces.get_many(booked.seen)
            for made in plan.panels:
                for place, stave in enumerate(made.staves):
                    if stave.board not in boards:
                        continue
                    board = boards[stave.board]
                    key = board.species, board.supplier or ""
                    cut[key] += 1
                    lost[key] += (booked.number, made.id, place) not in sound
    return LossHistory(cut, lost)
