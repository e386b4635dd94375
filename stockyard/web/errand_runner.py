"""Does errands in this process, one after the other, beside the requests."""

import logging
import os
import threading
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from stockyard.errors import StockyardError
from stockyard.services import errands
from stockyard.services.errand_kinds import WORK, Dropped, do
from stockyard.timber.errand import Errand, ErrandState, Stop

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

log = logging.getLogger("stockyard.web")

_LOOK_EVERY = 3.0
"""How often to look for errands that another process was asked for. [s]"""

_BEAT_EVERY = 5.0
_TELL_EVERY = 0.7
"""How often to note that an errand goes on, and how far it is when that has changed. [s]"""


class ErrandRunner:
    """One worker. Start it, poke it when there is something to do, and stop it."""

    def __init__(self, open_work: "OpenWork") -> None:
        self._open_work = open_work
        self.worker = f"{os.getpid()}-{uuid4().hex[:8]}"
        self._poked, self._ending = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, name="errands", daemon=True)

    def start(self) -> None:
        """Begin to look for work."""
        self._thread.start()

    def poke(self) -> None:
        """There is something to do."""
        self._poked.set()

    def stop(self, seconds: float = 5.0) -> None:
        """End; what was under way goes back to wait for another worker."""
        self._ending.set()
        self._poked.set()
        errands.handed_back(self._open_work, self.worker)
        self._thread.join(seconds)

    def _run(self) -> None:
        while not self._ending.is_set():
            try:
                errand = self._next()
                if errand is not None:
                    self._do(errand)
                    continue
            except StockyardError as error:
                log.error("Errands rest for a moment: %s", error)
            self._poked.wait(_LOOK_EVERY)
            self._poked.clear()

    def _next(self) -> Errand | None:
        # Looking does not wait for whoever writes; taking does.
        if not errands.list_errands(self._open_work, under_way=True, limit=1):
            return None
        return errands.next_errand(self._open_work, self.worker, tuple(WORK))

    def _do(self, errand: Errand) -> None:
        told = _Told(self._open_work, errand.id, self.worker, self._ending)
        with told:
            try:
                result = do(self._open_work, errand, told.watch)
            except Dropped:
                end: dict[str, Any] = {"state": ErrandState.DROPPED}
            except StockyardError as error:
                end = {"state": ErrandState.FAILED, "complaint": errands.complaint_of(error)}
            except Exception as error:
                log.exception("Errand %s (%s) failed", errand.id, errand.kind)
                words = {"message": f"A fault of ours: {type(error).__name__}.", "faults": []}
                end = {"state": ErrandState.FAILED, "complaint": words}
            else:
                end = {"state": ErrandState.DONE, "result": result}
        if not self._ending.is_set():
            errands.ended(self._open_work, errand.id, self.worker, **end)


class _Told:
    """Notes how far an errand is from a thread of its own, so that a long silence is not taken for an end."""

    def __init__(self, open_work: "OpenWork", number: int, worker: str, ending: threading.Event) -> None:
        self._open_work, self._number, self._worker, self._ending = open_work, number, worker, ending
        self._news: Mapping[str, Any] | None = None
        self._stop = Stop.NO
        self._over, self._more = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._beat, name=f"errand {number}", daemon=True)

    def watch(self, progress: Mapping[str, Any] | None) -> Stop:
        """What an errand is done under: see services.errand_kinds."""
        if progress is not None:
            self._news = progress
            self._more.set()
        return Stop.DROP if self._ending.is_set() else self._stop

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._more.set()
        self._thread.join()

    def _beat(self) -> None:
        while not self._over.is_set():
            news, self._news = self._news, None
            try:
                self._stop = errands.under_way(self._open_work, self._number, self._worker, news)
            except StockyardError as error:
                log.warning("Errand %s could not be noted: %s", self._number, error)
            self._over.wait(_TELL_EVERY)
            self._more.wait(_BEAT_EVERY - _TELL_EVERY)
            self._more.clear()
