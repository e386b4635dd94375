"""The app as it is really served, on the demo yard, in a real browser.

STOCKYARD_SHOTS=FOLDER before pytest keeps a picture of every screen there, to be looked at.
"""

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright

from stockyard.records import open_yard, upgrade
from stockyard.records.picture_files import folder_beside
from stockyard.services.build_demo import build_demo
from stockyard.web.app import create_app

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1440, "height": 900}


@pytest.fixture(scope="session")
def demo_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo yard, built once and copied by whoever changes it."""
    path = tmp_path_factory.mktemp("demo") / "yard.db"
    upgrade(path)
    with open_yard(path) as yard:
        build_demo(yard.open_work)
    return path


@contextmanager
def served(path: Path, *, at_work: bool = False) -> Iterator[str]:
    """The app on a yard's file, at a free port of this machine. Gives its address."""
    with open_yard(path) as yard:
        app = create_app(yard.open_work, at_work=at_work)
        server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning", ws="none"))
        thread = threading.Thread(target=server.run)
        thread.start()
        while not server.started:
            assert thread.is_alive(), "the server did not start"
            thread.join(0.02)
        port = server.servers[0].sockets[0].getsockname()[1]
        try:
            yield f"http://localhost:{port}"
        finally:
            server.should_exit = True
            thread.join()


@pytest.fixture(scope="session")
def demo(demo_template: Path) -> Iterator[str]:
    """The address of the demo yard; for tests that only look."""
    with served(demo_template) as address:
        yield address


@pytest.fixture
def own_demo(demo_template: Path, tmp_path: Path) -> Iterator[str]:
    """The address of a demo yard of one's own, with a worker for its errands."""
    path = tmp_path / "yard.db"
    shutil.copyfile(demo_template, path)
    shutil.copytree(folder_beside(demo_template), folder_beside(path))
    with served(path, at_work=True) as address:
        yield address


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all."""
    with sync_playwright() as play:
        found = shutil.which("chromium") or "/usr/bin/chromium"
        browser = play.chromium.launch(executable_path=found, args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """A page at phone width, with touch."""
    yield from _page(chromium, viewport=PHONE, has_touch=True, is_mobile=True, device_scale_factor=2)


@pytest.fixture
def desk(chromium: Browser) -> Iterator[Page]:
    """A page at the width of a screen on a bench."""
    yield from _page(chromium, viewport=DESK)


def _page(chromium: Browser, **how: object) -> Iterator[Page]:
    """A page that fails its test when a script fails, something is missing, or is asked for from outside."""
    context = chromium.new_context(**how)  # type: ignore[arg-type]
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(f"script: {error}"))
    page.on("console", lambda word: wrong.append(word.text) if word.type == "error" else None)
    page.on(
        "request",
        lambda asked: (
            None
            if asked.url.startswith(("http://localhost:", "data:", "blob:"))
            else wrong.append(f"outside: {asked.url}")
        ),
    )
    yield page
    context.close()
    assert wrong == []
