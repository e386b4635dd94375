"""Proof that what pieces show is what their movements add up to."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stockyard.ledger.balance import imbalance
from stockyard.ledger.fold import Sums, fold
from stockyard.timber.movement import Movement


@dataclass(frozen=True, slots=True)
class Disagreement:
    """One thing that does not add up: a piece's number or "movement 12", what is shown, what the sums say."""

    where: str
    shown: str
    summed: str

    def __str__(self) -> str:
        return f"{self.where}: shows {self.shown}, its movements add up to {self.summed}"


def disagreements(movements: Iterable[Movement], shown: Mapping[str, Sums]) -> list[Disagreement]:
    """Everything that does not add up: movements that do not balance, pieces that show something else.

    shown: by number, every piece. One that no movement touched must show nothing. A piece on hand or
    promised other than 0 or 1 times is named too. An empty list is a proof.
    """
    movements = list(movements)
    found = [
        Disagreement(f"movement {movement.id}", "a complete movement", str(left))
        for movement in movements
        if (left := imbalance(movement))
    ]
    summed = fold(movements)
    for number in sorted(summed.keys() | shown.keys()):
        told, adds_up = shown.get(number), summed.get(number, Sums())
        if told != adds_up:
            found.append(Disagreement(number, str(told or "nothing, not being there"), str(adds_up)))
        elif adds_up.on_hand not in (0, 1) or adds_up.promised not in (0, 1):
            found.append(Disagreement(number, "one piece of timber", str(adds_up)))
    return found
