"""How fast pages come with twenty people asking at once, and what the first load weighs.

python -m tests.figures.web [pieces ...]          1000 and 100000 when none are given
"""

import gzip
import re
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from statistics import median
from time import perf_counter

import uvicorn
from fastapi import FastAPI
from fastapi.responses import HTMLResponse

from stockyard.records import open_yard, upgrade
from stockyard.services.jobs import add_job
from stockyard.services.plan_job import plan_job
from stockyard.settings import open_work_on
from stockyard.web.app import create_app
from tests.figures.large_stock import fill
from tests.figures.record import record
from tests.services.yards import receive
from tests.web.test_errands import JOB

PEOPLE = 20
LARGE = 20_000
"""A yard of more pieces is asked less often, for a round of it takes a minute."""

AIM_KB = 200


def main(sizes: list[int]) -> None:
    """Make a yard of each size, ask for its pages and for a bare page of the framework in turn, record."""
    for pieces in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "yard.db"
            board = _yard(path, pieces)
            with open_yard(path) as yard, _served(create_app(yard.open_work, at_work=False)) as ours:
                _measure(ours, board, pieces)
                if pieces == sizes[0]:
                    _weigh(ours, board)


def _measure(port: int, board: str, pieces: int) -> None:
    size, (each, rounds) = f"{pieces:,} pieces", (1, 2) if pieces > LARGE else (10, 3)
    bare = FastAPI()

    @bare.get("/", response_class=HTMLResponse)
    def page() -> str:
        return "<!doctype html><title>bare</title><p>bare</p>"

    with _served(bare) as theirs:
        for what, path in (
            ("rack page", "/rack"),
            ("board page", f"/board/{board}"),
            ("plan page", "/plan/1"),
        ):
            _asked_at_once(port, path, 1)
            _asked_at_once(theirs, "/", 5)
            pairs = [(_p95(_asked_at_once(port, path, each)), _p95(_asked_at_once(theirs, "/", 10)))
                     for _ in range(rounds)]  # fmt: skip
            ratio = median(ours / bares for ours, bares in pairs)
            told = f"p95 {1000 * median(ours for ours, _ in pairs):.0f} ms"
            record(
                f"{what}, p95, {PEOPLE} at once", size, ratio, "x", baseline="a bare FastAPI page", note=told
            )


def _weigh(port: int, board: str) -> None:
    """Bytes as sent and requests of a first visit: the page, its styles and scripts, and what they import."""
    for what, path in (("Today", "/"), ("rack page", "/rack"), ("board page", f"/board/{board}")):
        seen: dict[str, int] = {}
        waiting = [path]
        while waiting:
            address = waiting.pop()
            if address in seen:
                continue
            text, seen[address] = _fetched(port, address)
            links = re.findall(r'<(?:link|script)[^>]*?(?:href|src)="(/static/[^"]+)"', text)
            folder = address.rpartition("/")[0]
            imports = re.findall(r'from "\./([\w.]+)"', text) if address.endswith(".js") else []
            waiting += [*links, *(f"{folder}/{name}" for name in imports)]
        kilobytes = sum(seen.values()) / 1000
        note = f"{len(seen)} requests, without photos; aim {AIM_KB} at most"
        record(f"first load of {what}", "gzip, nothing kept", kilobytes, "KB", note=note)


def _yard(path: Path, pieces: int) -> str:
    """A yard of so many pieces with a plan; returns the number of a board of it."""
    if pieces > LARGE:
        open_work_on(path)
        fill(path, pieces)
    else:
        upgrade(path)
    with open_yard(path) as yard:
        if pieces <= LARGE:
            rows = [f"jarrah,{1800 + n % 1500},{90 + n % 150},25,{20 + n % 9}" for n in range(pieces - 6)]
            receive(yard, *rows, docket="stock")
        found = receive(yard, *["spotted gum,2400,180,32,48.00"] * 6, docket="shelf")
        add_job(yard.open_work, JOB)
        plan_job(yard.open_work, "shelf", seconds=5)
        return found.pieces[0].number


@contextmanager
def _served(app: FastAPI) -> Iterator[int]:
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        thread.join(0.02)
    try:
        yield server.servers[0].sockets[0].getsockname()[1]
    finally:
        server.should_exit = True
        thread.join()


def _asked_at_once(port: int, path: str, each: int) -> list[float]:
    """How long each answer took, everybody asking again as soon as they were answered. [s]"""
    took: list[float] = []
    ready = threading.Barrier(PEOPLE)

    def ask() -> None:
        connection = HTTPConnection("localhost", port, timeout=600)
        ready.wait()
        for _ in range(each):
            began = perf_counter()
            connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
            answer = connection.getresponse()
            answer.read()
            took.append(perf_counter() - began)
            assert answer.status == 200, (path, answer.status)
        connection.close()

    people = [threading.Thread(target=ask) for _ in range(PEOPLE)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert len(took) == PEOPLE * each
    return took


def _p95(took: list[float]) -> float:
    return sorted(took)[int(0.95 * len(took))]


def _fetched(port: int, path: str) -> tuple[str, int]:
    """What stands at an address, and how many bytes were sent for it."""
    connection = HTTPConnection("localhost", port, timeout=60)
    connection.request("GET", path, headers={"Accept-Encoding": "gzip"})
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    assert answer.status == 200, (path, answer.status)
    plain = gzip.decompress(body) if answer.headers.get("Content-Encoding") == "gzip" else body
    return plain.decode(errors="replace"), len(body)


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [1_000, 100_000])
