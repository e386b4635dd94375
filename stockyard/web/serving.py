"""Serving the app: which yard, at which address, and whether that address may be open to the network."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from ipaddress import ip_address
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Refused
from stockyard.services.people import asks_to_sign_in
from stockyard.web.app import THIS_MACHINE, create_app

if TYPE_CHECKING:
    from stockyard.settings import OpenWork


def serve(
    open_work: "OpenWork",
    host: str = "127.0.0.1",
    port: int = 8421,
    *,
    certificate: Path | None = None,
    key: Path | None = None,
    opening: Callable[[], None] = lambda: None,
) -> None:
    """Serve a yard until it is told to stop.

    certificate, key: PEM files, for https; phones let a page use their camera only over it. opening: called
    once nothing stands in the way.
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
    app = create_app(open_work, hosts=(*THIS_MACHINE, host) if only_here else ("*",))
    uvicorn.run(
        app,
        host=host,
        port=port,
        log_level="warning",
        server_header=False,
        ssl_certfile=certificate,
        ssl_keyfile=key,
        timeout_graceful_shutdown=5,
    )


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
