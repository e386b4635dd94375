"""What a scraper is told: how many requests, how long they took, what errands wait. Nothing of the stock.

Kept per process, or, where several processes share one port, in files that each adds to.
"""

import os
import time
from collections.abc import Mapping
from typing import Any

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, Info, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector
from starlette.types import ASGIApp, Message, Receive, Scope, Send

import stockyard
from stockyard.web.logs import log_request

SHARED = "PROMETHEUS_MULTIPROC_DIR"
"""The variable, of the client library, that names the folder in which several processes count together."""

_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
_SECONDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0, 60.0)


class Metrics:
    """The counts of one app."""

    def __init__(self) -> None:
        self._own = CollectorRegistry()
        self._requests = Counter(
            "stockyard_requests", "Requests answered.", ("method", "route", "status"), registry=self._own
        )
        self._seconds = Histogram(
            "stockyard_request_seconds",
            "How long requests took.",
            ("route",),
            buckets=_SECONDS,
            registry=self._own,
        )

    def count(self, method: str, route: str, status: int, seconds: float) -> None:
        """Note one request that was answered. route: as it is declared, never as it was asked for."""
        self._requests.labels(method if method in _METHODS else "other", route, str(status)).inc()
        self._seconds.labels(route).observe(seconds)

    def text(self, errands: Mapping[str, int]) -> bytes:
        """All of it in the text format that scrapers read. errands: how many stand in each state."""
        asked = CollectorRegistry()
        Info("stockyard", "The version that runs.", registry=asked).info({"version": stockyard.__version__})
        gauge = Gauge("stockyard_errands", "Errands by state.", ("state",), registry=asked)
        for state, count in errands.items():
            gauge.labels(state).set(count)
        counted = self._own
        if os.environ.get(SHARED):
            counted = CollectorRegistry()
            MultiProcessCollector(counted)  # type: ignore[no-untyped-call]
        return generate_latest(asked) + generate_latest(counted)


class Watched:
    """Counts every request and logs it: by its declared route, without what was asked or sent."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        self._app, self._metrics = app, metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and note its answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began, status = time.perf_counter(), 500

        async def note(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self._app(scope, receive, note)
        finally:
            seconds, route = time.perf_counter() - began, _route(scope)
            self._metrics.count(scope["method"], route, status, seconds)
            log_request(scope["method"], route, status, seconds, (scope.get("client") or ("",))[0])


def _route(scope: Scope) -> str:
    declared: Any = getattr(scope.get("route"), "path", None)
    if isinstance(declared, str):
        return declared
    return "/static" if scope["path"].startswith("/static/") else "none"
