"""Long work outside the request that asks for it: asked for, watched, stopped, done by whoever is at work.

The queue is the records themselves, so that closing a page or ending a server loses nothing. Whoever does
the work needs no more than `next_errand`, `under_way` and `ended`; what lies beneath them may change.
"""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, StockyardError
from stockyard.records import retried
from stockyard.timber.errand import Errand, ErrandState, Stop

if TYPE_CHECKING:
    from stockyard.records import OpenWork

SILENT = timedelta(seconds=30)
"""After so long without a word from its worker an errand is taken up by another."""

MOST_ATTEMPTS = 3
"""An errand whose worker has ended so often half-way is not begun again."""


def ask_for(
    open_work: "OpenWork",
    kind: str,
    wanted: Mapping[str, Any],
    files: Mapping[str, bytes] | None = None,
) -> Errand:
    """Ask for work to be done. wanted: plain JSON, as the kind understands it; files: what it is done on."""
    return retried(open_work, lambda work: work.errands.add(kind, wanted, files or {}))


def show_errand(open_work: "OpenWork", number: int) -> Errand:
    """How an errand stands. Raises NotFound."""
    with open_work(reading=True) as work:
        return work.errands.get(number)


def list_errands(
    open_work: "OpenWork", *, kind: str | None = None, under_way: bool = False, limit: int = 100
) -> tuple[Errand, ...]:
    """Errands, the newest first; those waiting or running only, if `under_way`."""
    states = (ErrandState.WAITING, ErrandState.RUNNING) if under_way else ()
    with open_work(reading=True) as work:
        return work.errands.find(kind=kind, states=states, limit=limit)


def count_errands(open_work: "OpenWork") -> dict[str, int]:
    """How many errands stand in each state there is."""
    with open_work(reading=True) as work:
        counts = work.errands.counts()
    return {state.value: counts.get(state, 0) for state in ErrandState}


def stop_errand(open_work: "OpenWork", number: int, *, keep: bool) -> Errand:
    """Ask an errand to stop: keep the best so far, or leave nothing of it. One that is over stays as it is.

    Raises NotFound.
    """
    stop = Stop.KEEP if keep else Stop.DROP
    return retried(open_work, lambda work: work.errands.ask_stop(number, stop))


def file_of(open_work: "OpenWork", number: int, name: str) -> bytes:
    """What a file given to an errand holds. Raises NotFound."""
    with open_work(reading=True) as work:
        return work.errands.file(number, name)


# What follows is for whoever does the work.


def next_errand(open_work: "OpenWork", worker: str, kinds: Sequence[str]) -> Errand | None:
    """Take up the errand that has waited longest, or one whose worker has fallen silent; None when none is.

    One that was begun too often is ended as failed, and the next is taken.
    """
    while True:
        taken = retried(open_work, lambda work: work.errands.claim(worker, kinds, work.now - SILENT))
        if taken is None or taken.attempts <= MOST_ATTEMPTS:
            return taken
        told = {"message": f"Begun {MOST_ATTEMPTS} times and never ended; ask for it again.", "faults": []}
        ended(open_work, taken.id, worker, ErrandState.FAILED, complaint=told)


def under_way(
    open_work: "OpenWork", number: int, worker: str, progress: Mapping[str, Any] | None = None
) -> Stop:
    """Say that a worker is still at it, and how far. Returns what has been asked of it meanwhile."""
    return retried(open_work, lambda work: work.errands.note(number, worker, progress))


def ended(
    open_work: "OpenWork",
    number: int,
    worker: str,
    state: ErrandState,
    *,
    result: Mapping[str, Any] | None = None,
    complaint: Mapping[str, Any] | None = None,
) -> None:
    """Note how an errand ended; nothing happens when another has taken it up."""
    retried(
        open_work,
        lambda work: work.errands.end(number, worker, state, result=result, complaint=complaint),
    )


def handed_back(open_work: "OpenWork", worker: str) -> None:
    """Let others take up what this worker was at: it is ending."""
    retried(open_work, lambda work: work.errands.release(worker))


def complaint_of(error: StockyardError) -> dict[str, Any]:
    """What is kept of an error that ended an errand."""
    faults = error.faults if isinstance(error, BadInput) else ()
    return {
        "message": error.message,
        "faults": [{"where": f.where, "expected": f.expected, "found": f.found} for f in faults],
    }
