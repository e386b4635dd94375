"""Doing the same piece of work again when others were in its way."""

import random
import time
from collections.abc import Callable
from typing import TypeVar

from stockyard.records.connect import OpenWork
from stockyard.records.faults import Contended
from stockyard.records.unit_of_work import UnitOfWork

Result = TypeVar("Result")

ATTEMPTS = 8


def retried(
    open_work: OpenWork, action: Callable[[UnitOfWork], Result], *, who: str = "", keep: bool = True
) -> Result:
    """What `action` returns, done and committed in a unit of work of its own.

    When the database had to turn it away for others' sake (a deadlock, a lock held too long), it is done
    again from the start, so `action` must touch nothing outside the unit of work. keep: False to have done it
    only to see what comes of it.
    Raises Contended when that goes on for several attempts.
    """
    for attempt in range(ATTEMPTS):
        try:
            with open_work(who=who) if who else open_work() as work:
                result = action(work)
                if keep:
                    work.commit()
                return result
        except Contended:
            if attempt == ATTEMPTS - 1:
                raise
            # Spread out, so that those who met do not meet again.
            time.sleep(random.uniform(0, 0.02 * 2**attempt))
    raise AssertionError("unreachable")
