"""The app put together: screens, the JSON interface, the gate, the headers, and errors told."""

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from importlib.resources import files
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware

import stockyard
from stockyard.web import problems
from stockyard.web.api import every_api
from stockyard.web.errand_runner import ErrandRunner
from stockyard.web.headers import Headers, KeptFiles
from stockyard.web.metrics import Metrics, Watched
from stockyard.web.pages import static_version
from stockyard.web.patience import Patience
from stockyard.web.screens import every_screen

if TYPE_CHECKING:
    from stockyard.settings import OpenWork

THIS_MACHINE = ("localhost", "127.0.0.1", "[::1]")
"""Names of this machine. A page of another site that makes its own name point here is told nothing."""


def create_app(
    open_work: "OpenWork", *, hosts: Sequence[str] = THIS_MACHINE, at_work: bool = True
) -> FastAPI:
    """The workshop app on one yard.

    hosts: the names it answers to; "*" for any. at_work: do errands too, in this process.
    """

    @asynccontextmanager
    async def while_served(app: FastAPI) -> AsyncIterator[None]:
        runner = ErrandRunner(open_work) if at_work else None
        app.state.errands = runner
        if runner is not None:
            runner.start()
        yield
        if runner is not None:
            await run_in_threadpool(runner.stop)

    app = FastAPI(
        title="Stockyard",
        version=stockyard.__version__,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        lifespan=while_served,
    )
    app.state.open_work = open_work
    problems.install(app)
    for router in (*(api.router for api in every_api()), *(screen.router for screen in every_screen())):
        app.include_router(router)
    static = str(files("stockyard.web").joinpath("static"))
    app.mount("/static", KeptFiles(static, static_version()), name="static")
    app.add_middleware(GZipMiddleware, minimum_size=700, compresslevel=5)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(hosts), www_redirect=False)
    app.add_middleware(Headers)
    app.state.metrics = Metrics()
    app.add_middleware(Watched, metrics=app.state.metrics)
    app.add_middleware(Patience)
    return app
