from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.people import add_person
from stockyard.timber.person import Person, Role
from stockyard.web.access import Need, rule_of
from stockyard.web.api import every_api
from stockyard.web.app import create_app
from stockyard.web.gate import Gated
from stockyard.web.screens import every_screen
from tests.web.conftest import HERE, post, token_in

PASSWORD = "a long enough one"

OPEN_TO_ALL = {
    ("GET", "/api"), ("GET", "/api/problems"), ("POST", "/api/sign-in"),
    ("GET", "/healthz"), ("GET", "/metrics"),
    ("GET", "/sign-in"), ("POST", "/sign-in"), ("POST", "/sign-out"), ("POST", "/ways"),
}  # fmt: skip
"""What somebody may do who has not signed in, and nothing besides."""

ONES_OWN = {("POST", "/people/own-password")}
"""What a reader may change, too."""


def routes() -> list[Gated]:
    return [route for part in (*every_api(), *every_screen()) for route in part.router.routes]  # type: ignore[misc]


def rules() -> dict[tuple[str, str], Need | None]:
    return {
        (method, route.path): None if (rule := rule_of(route.endpoint)) is None else rule[0]
        for route in routes()
        for method in route.methods or ()
    }


def test_every_route_is_behind_the_gate_and_says_what_it_needs(app: FastAPI) -> None:
    assert len(routes()) > 20
    assert [route.path for route in routes() if not isinstance(route, Gated)] == []
    assert [key for key, need in rules().items() if need is None] == []


def test_only_the_listed_routes_are_open_to_all() -> None:
    assert {key for key, need in rules().items() if need is Need.NOTHING} == OPEN_TO_ALL


def test_whatever_changes_something_needs_a_maker() -> None:
    changing = {key for key in rules() if key[0] not in ("GET", "HEAD")} - OPEN_TO_ALL - ONES_OWN
    assert changing
    assert {key for key in changing if rules()[key] is not Need.MAKER} == set()


def test_a_route_without_a_rule_is_closed_to_everybody(app: FastAPI) -> None:
    async def forgotten() -> str:
        return "secret"

    app.router.routes.insert(0, Gated("/forgotten", forgotten))
    with TestClient(app, base_url=HERE) as client:
        answer = client.get("/forgotten")

    assert answer.status_code == 403
    assert "no rule" in answer.text


@pytest.mark.parametrize(
    ("role", "need", "may"),
    [
        (None, Need.NOTHING, True),
        (None, Need.READER, False),
        (Role.READER, Need.READER, True),
        (Role.READER, Need.MAKER, False),
        (Role.MAKER, Need.READER, True),
        (Role.MAKER, Need.MAKER, True),
    ],
)
def test_a_need_is_met_by_its_role_and_the_one_above(role: Role | None, need: Need, may: bool) -> None:
    assert need.met_by(None if role is None else Person("Robin", role)) is may


@pytest.fixture
def guarded(stocked: Yard) -> Iterator[TestClient]:
    """A yard that knows a maker, Robin, and a reader, Kim."""
    add_person(stocked.open_work, "Robin", Role.MAKER, PASSWORD)
    add_person(stocked.open_work, "Kim", Role.READER, PASSWORD)
    app = create_app(stocked.open_work, at_work=False)
    with TestClient(app, base_url=HERE, follow_redirects=False) as client:
        yield client


def sign_in(client: TestClient, name: str, password: str = PASSWORD) -> int:
    return post(client, "/sign-in", "/sign-in", name=name, password=password, then="/rack").status_code


def test_a_yard_that_knows_people_sends_strangers_to_sign_in(guarded: TestClient) -> None:
    sent = guarded.get("/rack?words=gum")
    assert (sent.status_code, sent.headers["location"]) == (303, "/sign-in?then=%2Frack%3Fwords%3Dgum")
    told = guarded.get("/api/boards")
    assert told.status_code == 401
    assert told.headers["content-type"] == "application/problem+json"
    assert "SG-0001" not in told.text


def test_a_reader_looks_and_does_not_change(guarded: TestClient) -> None:
    assert sign_in(guarded, "kim") == 303
    assert guarded.get("/rack").status_code == 200
    etag = guarded.get("/api/boards/SG-0001").headers["etag"]

    token = token_in(guarded.get("/").text)
    refused = guarded.patch(
        "/api/boards/SG-0001", json={"place": "rack 9"}, headers={"If-Match": etag, "X-CSRF-Token": token}
    )

    assert refused.status_code == 403
    assert guarded.get("/api/boards/SG-0001").json()["place"] == "rack 1"


def test_what_a_maker_changes_says_who(guarded: TestClient) -> None:
    assert sign_in(guarded, "Robin") == 303
    etag = guarded.get("/api/boards/SG-0001").headers["etag"]
    token = token_in(guarded.get("/").text)
    headers = {"If-Match": etag, "X-CSRF-Token": token}

    assert guarded.patch("/api/boards/SG-0001", json={"place": "rack 9"}, headers=headers).status_code == 200

    (change,) = guarded.get("/api/boards/SG-0001").json()["changes"]
    assert (change["fact"], change["who"]) == ("place", "Robin")


def test_signing_in_gives_a_new_token_and_ends_the_old_one(guarded: TestClient) -> None:
    sign_in(guarded, "Robin")
    first = guarded.cookies["stockyard"]
    sign_in(guarded, "Robin")
    assert guarded.cookies["stockyard"] != first

    guarded.cookies.clear()
    assert guarded.get("/rack", headers={"Authorization": f"Bearer {first}"}).status_code == 303


def test_signing_out_ends_the_token_itself(guarded: TestClient) -> None:
    sign_in(guarded, "Robin")
    token = guarded.cookies["stockyard"]
    post(guarded, "/sign-out")
    guarded.cookies.clear()
    assert guarded.get("/api/boards", headers={"Authorization": f"Bearer {token}"}).status_code == 401


def test_the_cookie_is_out_of_reach_of_scripts(guarded: TestClient) -> None:
    answer = post(guarded, "/sign-in", "/sign-in", name="Robin", password=PASSWORD, then="/")
    cookie = next(each for each in answer.headers.get_list("set-cookie") if each.startswith("stockyard="))
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie


def test_a_script_signs_in_and_shows_its_token(guarded: TestClient) -> None:
    told = guarded.post("/api/sign-in", json={"name": "Robin", "password": PASSWORD})
    bearer = {"Authorization": f"Bearer {told.json()['token']}"}
    guarded.cookies.clear()
    etag = guarded.get("/api/boards/SG-0001", headers=bearer).headers["etag"]
    moved = guarded.patch(
        "/api/boards/SG-0001", json={"place": "rack 2"}, headers={**bearer, "If-Match": etag}
    )
    assert moved.json()["place"] == "rack 2"


def test_sign_in_is_refused_after_too_many_tries(guarded: TestClient) -> None:
    assert [sign_in(guarded, "Robin", "wrong wrong wrong") for _ in range(6)] == [403] * 5 + [429]
    assert sign_in(guarded, "Robin") == 429
    assert sign_in(guarded, "Kim") == 303


def test_sign_in_leads_nowhere_else(guarded: TestClient) -> None:
    for then in ("//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example"):
        answer = post(guarded, "/sign-in", "/sign-in", name="Robin", password=PASSWORD, then=then)
        assert answer.headers["location"] == "/"


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Origin": "null"},
    ],
)
def test_a_form_of_another_site_does_nothing(browser: TestClient, headers: dict[str, str]) -> None:
    token = token_in(browser.get("/").text)
    answer = browser.post("/ways", data={"csrf": token, "units": "in"}, headers=headers)
    assert answer.status_code == 403
    assert "units" not in browser.cookies


def test_a_form_without_its_token_does_nothing(browser: TestClient) -> None:
    browser.get("/")
    for fields in ({}, {"csrf": "0" * 32 + "." + "0" * 64}):
        assert browser.post("/ways", data={"units": "in", **fields}).status_code == 403
    assert post(browser, "/ways", units="in").status_code == 303
    assert browser.cookies["units"] == "in"


def test_a_page_of_another_name_that_points_here_is_told_nothing(app: FastAPI) -> None:
    with TestClient(app, base_url="http://rebound.example") as client:
        answer = client.get("/rack")
    assert answer.status_code == 400
    assert "SG-0001" not in answer.text


def test_too_large_a_body_is_refused_before_it_is_read(browser: TestClient) -> None:
    token = token_in(browser.get("/").text)
    answer = browser.post("/ways", data={"csrf": token, "units": "x" * 1_100_000})
    assert answer.status_code == 413


def test_every_answer_carries_a_policy_without_inline_script(browser: TestClient) -> None:
    for path in ("/", "/rack", "/api/boards", "/nowhere", "/static/x/stockyard.css"):
        policy = browser.get(path).headers["content-security-policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
