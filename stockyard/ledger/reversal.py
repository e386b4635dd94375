"""Taking a movement back: the same lines with their signs turned, so that both stay to be read."""

from dataclasses import replace
from datetime import date

from stockyard.timber.movement import Movement, MovementKind


def reversal(movement: Movement, effective: date, cause: str) -> Movement:
    """The movement that takes `movement` back; together they add up to nothing.

    movement: one from the books, so with its id.
    """
    lines = tuple(
        replace(
            line,
            on_hand=-line.on_hand,
            promised=-line.promised,
            value=-line.value,
            volume_mm3=-line.volume_mm3,
            quantity=-line.quantity,
        )
        for line in movement.lines
    )
    return Movement(
        kind=MovementKind.REVERSE,
        lines=lines,
        effective=effective,
        cause=cause,
        plan=movement.plan,
        supplier=movement.supplier,
        docket=movement.docket,
        reverses=movement.id,
    )
