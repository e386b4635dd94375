"""Who may come in is added, changed and stopped from the app."""

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.people import add_person, sign_in
from stockyard.timber.person import Role
from tests.web.conftest import post
from tests.web.test_access import PASSWORD, guarded
from tests.web.test_access import sign_in as come_in

__all__ = ["guarded"]


@pytest.fixture
def maker(guarded: TestClient) -> TestClient:
    """Robin, a maker, signed in."""
    assert come_in(guarded, "Robin") == 303
    return guarded


def test_the_first_person_has_to_be_a_maker(browser: TestClient) -> None:
    assert "Nobody is asked to sign in" in browser.get("/people").text
    refused = post(browser, "/people", "/people", name="Kim", role="reader", password=PASSWORD)
    assert refused.status_code == 409
    short = post(browser, "/people", "/people", name="Robin", role="maker", password="short")
    assert short.status_code == 422
    assert "10 to 200 characters" in short.text

    assert (
        post(browser, "/people", "/people", name="Robin", role="maker", password=PASSWORD).status_code == 303
    )
    assert browser.get("/people").headers["location"] == "/sign-in?then=%2Fpeople"


def test_a_maker_adds_and_changes_others(maker: TestClient) -> None:
    post(maker, "/people", "/people", name="Sam", role="reader", password=PASSWORD)
    post(maker, "/people/change", "/people", name="Sam", role="maker")
    page = maker.get("/people").text
    assert "Sam" in page
    assert page.count("<span>look and change (maker)</span>") == 2


def test_whoever_is_stopped_comes_in_no_more_and_one_maker_stays(maker: TestClient, stocked: Yard) -> None:
    post(maker, "/people/change", "/people", name="Kim", act="stop")
    assert "comes in no more" in maker.get("/people").text
    assert post(maker, "/people/change", "/people", name="Robin", act="stop").status_code == 422
    assert post(maker, "/people/change", "/people", name="Kim", act="back").status_code == 303
    assert sign_in(stocked.open_work, "Kim", PASSWORD, "127.0.0.1")


def test_a_reader_sees_who_there_is_and_changes_only_their_own_password(
    guarded: TestClient, stocked: Yard
) -> None:
    assert come_in(guarded, "Kim") == 303
    assert "Add a person" not in guarded.get("/people").text
    assert post(guarded, "/people", name="Sam", role="maker", password=PASSWORD).status_code == 403

    wrong = post(guarded, "/people/own-password", "/people", old="not that one", new="another long one")
    assert wrong.status_code == 422
    assert "the one you sign in with" in wrong.text
    done = post(guarded, "/people/own-password", "/people", old=PASSWORD, new="another long one")
    assert done.headers["location"] == "/sign-in"
    assert guarded.get("/people").status_code == 303
    assert sign_in(stocked.open_work, "Kim", "another long one", "127.0.0.1")


def test_guessing_ones_password_is_stopped_after_a_few_tries(guarded: TestClient, stocked: Yard) -> None:
    add_person(stocked.open_work, "Lee", Role.READER, PASSWORD)
    assert come_in(guarded, "Lee") == 303
    for guess in range(5):
        post(guarded, "/people/own-password", "/people", old=f"guess number {guess}", new=PASSWORD)
    assert post(guarded, "/people/own-password", "/people", old=PASSWORD, new=PASSWORD).status_code == 403
