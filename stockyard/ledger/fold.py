"""Adding movements up: what every piece stands at, and every account, on any date."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from stockyard.timber.movement import Account, Line, Movement


@dataclass(frozen=True, slots=True)
class Sums:
    """What the lines of one piece add up to. on_hand, promised: 0 or 1 in a sound book."""

    on_hand: int = 0
    promised: int = 0
    value: Decimal = Decimal(0)
    volume_mm3: int = 0

    def __add__(self, line: Line) -> "Sums":
        return Sums(
            self.on_hand + line.on_hand,
            self.promised + line.promised,
            self.value + line.value,
            self.volume_mm3 + line.volume_mm3,
        )

    def __str__(self) -> str:
        return (
            f"{self.on_hand} on hand, {self.promised} promised, value {self.value},"
            f" volume {self.volume_mm3} mm3"
        )


def fold(movements: Iterable[Movement], as_of: date | None = None) -> dict[str, Sums]:
    """The sums of every piece that any movement touched, by number.

    as_of: only what counts by the end of that day; None for everything.
    """
    sums: dict[str, Sums] = {}
    for movement in movements:
        if as_of is not None and movement.effective > as_of:
            continue
        for line in movement.lines:
            if line.piece is not None:
                sums[line.piece] = sums.get(line.piece, Sums()) + line
    return sums


def account_sums(movements: Iterable[Movement], as_of: date | None = None) -> dict[Account, Decimal]:
    """What every account stands at. In a sound book they add up to nothing."""
    sums = dict.fromkeys(Account, Decimal(0))
    for movement in movements:
        if as_of is None or movement.effective <= as_of:
            for line in movement.lines:
                sums[line.account] += line.value
    return sums
