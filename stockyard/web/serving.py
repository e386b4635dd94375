"""Serving the app: which yard, at which address, and whether that address may be open to the network."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI

from stockyard.errors import BadInput, Refused
from stockyard.services.people import asks_to_sign_in
from stockyard.web.app import THIS_MACHINE, create_app
from stockyard.web.logs import log_json_lines
from stockyard.web.metrics import SHARED

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

_HOSTS, _LOG_REQUESTS = "STOCKYARD_SERVED_AS", "STOCKYARD_LOG_REQUESTS"


def serve(
    open_work: "OpenWork",
    host: str = "127.0.0.1",
    port: int = 8421,
    *,
    certificate: Path | None = None,
    key: Path | None = None,
    opening: Callable[[], None] = lambda: None,
    log_requests: bool = False,
    workers: int = 1,
) -> None:
    """Serve a yard until it is told to stop.

    certificate, key: PEM files, for https; phones let a page use their camera only over it. opening: called
    once nothing stands in the way. workers: processes that share the port; more than one open the yard that
    the environment names.
    Raises Refused for an address that others can reach while the yard knows no people.
    """
    import uvicorn

    only_here = of_this_machine(host)
    if not only_here and not asks_to_sign_in(open_work):
        raise Refused(
            f"{host} can be reached from the network, and this yard asks nobody to sign in. Add people first:"
            " stockyard people add NAME"
        )
    if (certificate is None) != (key is None):
        raise BadInput("https needs both a certificate and its key.")
    opening()
    log_json_lines(log_requests)
    hosts = (*THIS_MACHINE, host) if only_here else ("*",)
    told: dict[str, Any] = {
        "host": host,
        "port": port,
        "log_config": None,
        "access_log": False,
        "server_header": False,
        "ssl_certfile": certificate,
        "ssl_keyfile": key,
        "timeout_graceful_shutdown": 5,
    }
    if workers == 1:
        uvicorn.run(create_app(open_work, hosts=hosts), **told)
        return
    with TemporaryDirectory(prefix="stockyard-counts-") as counts:
        # What the processes started from here are told: they share nothing else with this one.
        os.environ |= {SHARED: counts, _HOSTS: ",".join(hosts), _LOG_REQUESTS: "1" if log_requests else ""}
        uvicorn.run("stockyard.web.serving:app_of_environment", factory=True, workers=workers, **told)


def app_of_environment() -> FastAPI:
    """The app of one of several processes, on the yard that STOCKYARD_DB names."""
    from stockyard.settings import open_work_on

    log_json_lines(bool(os.environ.get(_LOG_REQUESTS)))
    return create_app(open_work_on(), hosts=os.environ.get(_HOSTS, ",".join(THIS_MACHINE)).split(","))


def of_this_machine(host: str) -> bool:
    """Can an address be reached from this machine only?"""
    if host == "localhost":
        return True
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


@contextmanager
def demo_yard() -> Iterator["OpenWork"]:
    """An invented yard to look at, gone when it is left; its first selections wait to be made."""
    from stockyard.services.build_demo import build_demo
    from stockyard.settings import open_work_on

    with TemporaryDirectory(prefix="stockyard-demo-", ignore_cleanup_errors=True) as folder:
        open_work = open_work_on(Path(folder) / "yard.db")
        build_demo(open_work)
        yield open_work
