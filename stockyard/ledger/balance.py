"""Double entry: what a piece gains in value, something else has lost."""

from decimal import Decimal

from stockyard.timber.movement import Account, Line, Movement


def imbalance(movement: Movement) -> Decimal:
    """What a movement's values add up to; nothing, when it is in order."""
    return sum((line.value for line in movement.lines), Decimal(0))


def balanced(lines: list[Line], against: Account, job: str | None = None) -> tuple[Line, ...]:
    """The lines with one more that carries the other side of their value, where there is any.

    against: where the value came from or goes to. job: for Account.JOBS, whose cost it is.
    """
    value = sum((line.value for line in lines), Decimal(0))
    if not value:
        return tuple(lines)
    return (*lines, Line(value=-value, account=against, job=job))
