"""Strangers and readers at every route of the table, other sites' forms, and names meant to do harm."""

import re
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest
import uvicorn
from fastapi.testclient import TestClient
from httpx2 import Response

from stockyard.records import Yard
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.people import add_person
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.person import Role
from stockyard.web import patience
from stockyard.web.access import Need
from stockyard.web.app import create_app
from tests.records.test_archive import everything
from tests.web.conftest import HERE, token_in
from tests.web.test_access import PASSWORD, rules, sign_in

LOOKING = ("GET", "HEAD")
EVERY = sorted(rules())
CHANGING = [key for key in EVERY if key[0] not in LOOKING]

Sent = Callable[..., Response]


def address(path: str) -> str:
    """A route's path with something in each of its places."""
    return re.sub(r"\{[^}]+\}", "1", path)


@pytest.fixture
def guarded(stocked: Yard) -> Iterator[TestClient]:
    add_person(stocked.open_work, "Robin", Role.MAKER, PASSWORD)
    add_person(stocked.open_work, "Kim", Role.READER, PASSWORD)
    app = create_app(stocked.open_work, at_work=False)
    with TestClient(app, base_url=HERE, follow_redirects=False, raise_server_exceptions=False) as client:
        yield client


def kept(path: Path) -> dict[str, object]:
    """All that is on record but who is signed in, and when they were last seen."""
    return {name: rows for name, rows in everything(str(path)).items() if not name.startswith("sign_in")}


def test_a_stranger_gets_past_no_route_that_needs_anybody(guarded: TestClient, sqlite_path: Path) -> None:
    before = kept(sqlite_path)
    token = token_in(guarded.get("/sign-in").text)
    open_to_them = []
    for method, path in EVERY:
        if rules()[method, path] is Need.NOTHING:
            continue
        answer = guarded.request(
            method, address(path), headers={"X-CSRF-Token": token, "Accept": "application/json"}
        )
        if answer.status_code != 401:
            open_to_them.append((method, path, answer.status_code))
    assert open_to_them == []
    assert kept(sqlite_path) == before


def test_a_reader_gets_past_no_route_of_a_maker(guarded: TestClient, sqlite_path: Path) -> None:
    """With a form token of their own, by cookie and by header, with and without a body."""
    assert sign_in(guarded, "Kim") == 303
    before = kept(sqlite_path)
    token = token_in(guarded.get("/").text)
    bearer = guarded.cookies["stockyard"]
    makers = [key for key in EVERY if rules()[key] is Need.MAKER]
    assert len(makers) > 20
    let_in = []
    for headers in ({"X-CSRF-Token": token}, {"Authorization": f"Bearer {bearer}"}):
        for method, path in makers:
            answer = guarded.request(method, address(path), headers={**headers, "Accept": "application/json"})
            if (answer.status_code, answer.json()["type"]) != (403, "/api/problems#refused-here"):
                let_in.append((method, path, answer.status_code))
    assert let_in == []
    assert kept(sqlite_path) == before


def test_another_sites_form_gets_past_no_changing_route(guarded: TestClient, sqlite_path: Path) -> None:
    """A maker is signed in, and a page elsewhere posts what a browser would send for it."""
    assert sign_in(guarded, "Robin") == 303
    before = kept(sqlite_path)
    token = token_in(guarded.get("/").text)
    passed = []
    for method, path in CHANGING:
        for headers in (
            {"Origin": "https://elsewhere.example", "X-CSRF-Token": token},
            {"Sec-Fetch-Site": "same-site", "X-CSRF-Token": token},
            {"Content-Type": "text/plain"},
            {"Content-Type": "application/x-www-form-urlencoded"},
            {"Content-Type": "application/json"},
        ):
            answer = guarded.request(
                method, address(path), headers={**headers, "Accept": "application/json"}, content=b"{}"
            )
            if answer.status_code != 403:
                passed.append((method, path, headers, answer.status_code))
    assert passed == []
    assert kept(sqlite_path) == before


def test_a_cookie_laid_before_signing_in_is_worth_nothing_after(guarded: TestClient) -> None:
    guarded.cookies.set("stockyard", "laid-by-somebody")
    guarded.cookies.set("visitor", "laid-too")
    token = token_in(guarded.get("/sign-in").text)
    told = guarded.post("/sign-in", data={"csrf": token, "name": "Robin", "password": PASSWORD, "then": "/"})
    assert told.status_code == 303
    given = re.search(r"stockyard=([^;]+)", told.headers["set-cookie"])
    assert given
    assert given[1] != "laid-by-somebody"
    for cookies in ({"stockyard": "laid-by-somebody"}, {"visitor": "laid-too"}):
        guarded.cookies.clear()
        guarded.cookies.update(cookies)
        assert guarded.get("/api/boards").status_code == 401


def test_a_form_token_of_before_signing_in_is_worth_nothing_after(guarded: TestClient) -> None:
    before = token_in(guarded.get("/sign-in").text)
    sign_in(guarded, "Robin")
    assert guarded.post("/ways", data={"csrf": before, "units": "in"}).status_code == 403


def test_no_page_repeats_the_name_it_was_asked_under(stocked: Yard) -> None:
    app = create_app(stocked.open_work, hosts=("*",), at_work=False)
    with TestClient(app, base_url="http://rebound.example", follow_redirects=False) as client:
        for method, path in EVERY:
            if method == "GET":
                told = client.get(
                    address(path).replace("/1", "/SG-0001", 1),
                    headers={"X-Forwarded-Host": "forwarded.example", "Forwarded": "host=forwarded.example"},
                )
                assert "forwarded.example" not in told.text + str(told.headers), path
                if told.headers["content-type"].startswith("text/html"):
                    assert "rebound.example" not in told.text + str(told.headers), path


@pytest.mark.parametrize(
    "path",
    [
        "/static/x/../../app.py", "/static/x/..%2f..%2fapp.py", "/static/x/%2e%2e/%2e%2e/app.py",
        "/static/x//etc/passwd", "/static/../../../../etc/passwd", "/static/x/..%5c..%5capp.py",
        "/picture/..%2f..%2fyard.db", "/api/boards/..%2f..%2fyard.db", "/sheets/..%2f..%2fyard.db.pdf",
        "/board/..%2f..%2f..%2fetc%2fpasswd", "/static/x/%00", "/board/%00", "/rack?words=%00",
    ],
)  # fmt: skip
def test_no_address_leads_out_of_its_folder(browser: TestClient, path: str) -> None:
    answer = browser.get(path)
    assert answer.status_code in (200, 400, 404, 422)
    assert b"root:" not in answer.content
    assert b"create_app" not in answer.content
    assert b"SQLite format" not in answer.content


HARM = "\"><script>alert(1)</script><img src=x onerror=alert(2)>&lt;'{{7*7}}${7*7}"
"""A name that would run where it is put into a page unescaped, or reckon where it is taken for a template."""


def test_no_name_or_note_becomes_part_of_a_page_or_a_drawing(stocked: Yard, browser: TestClient) -> None:
    correct_board(stocked.open_work, "SG-0001", Correction(note=HARM, place=HARM), HARM)
    crack = ((100.0, 20.0), (300.0, 20.0), (300.0, 24.0), (100.0, 24.0))
    add_defect(stocked.open_work, "SG-0001", Sketch(DefectKind.CRACK, Face.A, polygon=crack, note=HARM))
    looked = 0
    for path in ("/", "/rack", f"/rack?words={HARM}", "/board/SG-0001", "/api/boards/SG-0001", "/stock"):
        page = browser.get(path)
        if page.headers["content-type"].startswith("text/html"):
            looked += HARM[:4] in page.text or "&lt;script" in page.text
            assert "<script>alert" not in page.text, path
            assert "<img src=x" not in page.text, path
            assert "49" not in re.findall(r"&#39;(.{0,4})\$", page.text), path
        else:
            assert page.headers["content-type"].startswith("application/json")
            assert page.headers["x-content-type-options"] == "nosniff"
    assert looked >= 3
    page = browser.get("/board/SG-0001").text
    for drawing in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        tree = ElementTree.fromstring(drawing)
        names = {each.tag.rpartition("}")[2] for each in tree.iter()}
        assert not names & {"script", "foreignObject", "image", "a", "iframe"}
        assert not [key for each in tree.iter() for key in each.attrib if key.lower().startswith("on")]


def test_a_line_break_in_a_name_adds_no_header(browser: TestClient) -> None:
    for path in ("/sheets/board%0d%0aSet-Cookie:x=1.pdf", "/board/SG-0001%0d%0aSet-Cookie:x=1",
                 "/rack?after=%0d%0aSet-Cookie:x=1", "/sign-in?then=/%0d%0aSet-Cookie:x=1"):  # fmt: skip
        assert "x=1" not in browser.get(path).headers.get("set-cookie", "")


@pytest.fixture
def served(stocked: Yard, monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    """The app on a real port, little patience with slow bodies. Gives the port."""
    monkeypatch.setattr(patience, "BETWEEN_S", 0.5)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    config = uvicorn.Config(
        create_app(stocked.open_work, at_work=False), port=port, log_config=None, access_log=False
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield port
    server.should_exit = True
    thread.join(10)


def test_slow_bodies_keep_nobody_waiting_and_are_given_up(served: int) -> None:
    head = (
        b"POST /ways HTTP/1.1\r\nHost: localhost\r\nContent-Length: 500\r\n"
        b"Content-Type: application/x-www-form-urlencoded\r\n\r\nunits="
    )
    slow = [socket.create_connection(("127.0.0.1", served)) for _ in range(60)]
    for each in slow:
        each.sendall(head)
    with socket.create_connection(("127.0.0.1", served), timeout=20) as quick:
        quick.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert quick.recv(20).startswith(b"HTTP/1.1 200")
    for each in slow:
        each.settimeout(20)
        assert each.recv(4096).startswith(b"HTTP/1.1 408")
        each.close()
