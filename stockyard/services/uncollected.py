"""Making many values at once without searching them for cycles over and over."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Put off the search for cycles: values of the trade have none, and it is a quarter of a large tally.

    Memory is freed by counting references all the while.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
