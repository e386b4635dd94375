"""The app on a small yard, asked as a browser or a script would, with the clock of every other test."""

import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from stockyard.records import Yard
from stockyard.web.app import create_app
from tests.services.yards import receive

HERE = "http://localhost"
ROWS = (
    "spotted gum,2400,180,32,48.00",
    "spotted gum,3000,150,32,51.00",
    "spotted gum,1800,140,25,30.00",
    "blackbutt,2100,120,25,22.50",
)


@pytest.fixture
def stocked(sqlite_yard: Yard) -> Yard:
    """Three boards of spotted gum and one of blackbutt in rack 1."""
    receive(sqlite_yard, *ROWS)
    return sqlite_yard


@pytest.fixture
def app(stocked: Yard) -> FastAPI:
    """The app without a worker: tests that want errands done have a worker of their own."""
    return create_app(stocked.open_work, at_work=False)


@pytest.fixture
def browser(app: FastAPI) -> Iterator[TestClient]:
    """Somebody at the yard's own machine."""
    with TestClient(app, base_url=HERE, follow_redirects=False) as client:
        yield client


def token_in(page: str) -> str:
    """The form token of a page."""
    found = re.search(r'name="csrf" content="([^"]+)"', page)
    assert found, "the page carries no form token"
    return found[1]


def post(client: TestClient, path: str, page: str = "/", **fields: str) -> Response:
    """Send a form as the page it stands on would."""
    token = token_in(client.get(page).text)
    return client.post(path, data={"csrf": token, **fields})
