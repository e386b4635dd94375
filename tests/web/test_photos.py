"""Photographs through the JSON interface: looked at, kept as an errand, shown, and decided on."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard, open_yard
from stockyard.services.errand_kinds import do
from stockyard.services.errands import ended, list_errands, next_errand
from stockyard.timber.defect import Face
from stockyard.timber.errand import ErrandState, Stop
from stockyard.web.app import create_app
from tests.conftest import at_noon
from tests.services.photographs import as_file, board_for, keep_photo, line, sample, suggested, truth
from tests.web.conftest import HERE, post, token_in


@pytest.fixture
def yard(sqlite_path: Path) -> Iterator[Yard]:
    with open_yard(sqlite_path, clock=at_noon) as opened:
        yield opened


@pytest.fixture
def browser(yard: Yard) -> Iterator[TestClient]:
    with TestClient(
        create_app(yard.open_work, at_work=False), base_url=HERE, follow_redirects=False
    ) as client:
        yield client


def hand_in(browser: TestClient, path: str, *names: str, **fields: str):
    pictures = [("pictures", (f"{name}.jpg", sample(name).content, "image/jpeg")) for name in names]
    headers = {"X-CSRF-Token": token_in(browser.get("/more").text)}
    return browser.post(path, files=pictures, data=fields, headers=headers)


def test_a_preview_tells_corners_and_scale_and_keeps_nothing(yard: Yard, browser: TestClient) -> None:
    board = board_for(yard, "SG-0008-A")
    told = hand_in(browser, f"/api/boards/{board}/photos/preview", "SG-0008-A", face="A").json()
    assert told["refused"] is None
    assert told["sizes_px"] == [[2600, 1950]]
    off = np.array(told["corners_px"][0]) - truth("SG-0008-A")["corners_px"]
    assert np.linalg.norm(off, axis=1).max() < 12
    assert browser.get(f"/api/boards/{board}/photos").json() == {"photos": []}


def test_pictures_are_kept_by_an_errand_and_counted_once(yard: Yard, browser: TestClient) -> None:
    board = board_for(yard, "SG-0008-A")
    path = f"/api/boards/{board}/photos"
    asked = hand_in(browser, path, "SG-0008-A", face="A", key="once")
    again = hand_in(browser, path, "SG-0008-A", face="A", key="once")
    assert (asked.status_code, again.json()["id"]) == (202, asked.json()["id"])
    errand = next_errand(yard.open_work, "worker", ("photo",))
    assert errand is not None
    assert len(list_errands(yard.open_work)) == 1
    stages: list[object] = []

    result = do(yard.open_work, errand, lambda news: stages.append(news) or Stop.NO)

    assert (result["kept"], result["photo"], result["scale"]["way"]) == (True, 1, "outline")
    assert [each for each in stages if each] == [{"stage": "scale"}, {"stage": "defects"}]
    (photo,) = browser.get(path).json()["photos"]
    assert (photo["face"], photo["read"]) == ("A", True)
    picture = browser.get(f"/api/boards/{board}/faces/A.jpg")
    assert picture.content[:3] == b"\xff\xd8\xff"
    same = browser.get(f"/api/boards/{board}/faces/A.jpg", headers={"If-None-Match": picture.headers["etag"]})
    assert same.status_code == 304
    assert browser.get("/api/photos/1/small.jpg").headers["content-type"] == "image/jpeg"


def test_what_cannot_be_put_to_scale_says_why_with_corners_to_begin_with(
    yard: Yard, browser: TestClient
) -> None:
    board = board_for(yard, "SG-0001-A")
    assert hand_in(browser, f"/api/boards/{board}/photos", "SG-0008-A", face="B").status_code == 202
    errand = next_errand(yard.open_work, "worker", ("photo",))
    assert errand is not None

    result = do(yard.open_work, errand, lambda news: Stop.NO)

    assert (result["kept"], result["of"], result["face"]) == (False, board, "B")
    assert [fault["where"] for fault in result["faults"]] == ["proportions"]
    assert len(result["corners_px"][0]) == 4
    ended(yard.open_work, errand.id, "worker", ErrandState.DONE, result=result)
    told = browser.get(f"/api/errands/{errand.id}").json()
    page = browser.get(told["page"]).text
    u, v = result["corners_px"][0][0]
    assert f'value="{u:g},{v:g} ' in page
    assert "Choose the picture again" in page


def test_what_is_no_picture_or_not_said_is_refused_at_once(yard: Yard, browser: TestClient) -> None:
    board = board_for(yard, "SG-0008-A")
    headers = {"X-CSRF-Token": token_in(browser.get("/more").text)}
    path = f"/api/boards/{board}/photos"
    none = browser.post(path, data={"face": "C", "corners": "1,2"}, headers=headers)
    assert none.status_code == 422
    assert {each["where"] for each in none.json()["faults"]} == {"face", "corners", "pictures"}
    text = [("pictures", ("words.jpg", b"no picture", "image/jpeg"))]
    assert browser.post(f"{path}/preview", files=text, data={"face": "A"}, headers=headers).status_code == 422
    small = [("pictures", ("tiny.png", as_file(np.zeros((4, 4, 3), np.uint8)), "image/png"))]
    assert (
        browser.post(f"{path}/preview", files=small, data={"face": "A"}, headers=headers).status_code == 422
    )
    assert (
        browser.post("/api/boards/NONE-1/photos", files=text, data={"face": "A"}, headers=headers).status_code
        == 404
    )


def test_suggestions_are_decided_on_by_whoever_has_seen_the_board_as_it_is(
    yard: Yard, browser: TestClient
) -> None:
    board = board_for(yard, "SG-0001-A")
    keep_photo(yard, board, Face.A, [suggested(line(100, 300, 40)), suggested(line(600, 700, 90))])
    path = f"/api/boards/{board}/suggestions"
    seen = browser.get(path)
    assert [each["id"] for each in seen.json()["suggestions"]] == [f"{board}:1", f"{board}:2"]
    assert browser.post(path, json={"accept": [1]}).status_code == 428

    taken = browser.post(path, json={"accept": [1]}, headers={"If-Match": seen.headers["etag"]})
    stale = browser.post(path, json={"reject": [2]}, headers={"If-Match": seen.headers["etag"]})
    assert taken.json()["decided"][0]["defect"] == f"{board}/1"
    assert stale.status_code == 412
    refused = browser.post(
        path, json={"reject": [2], "because": "a shadow"}, headers={"If-Match": taken.headers["etag"]}
    )
    assert refused.json()["decided"][0]["verdict"] == "rejected"
    assert browser.get(path).json() == {"suggestions": []}
    both = browser.post(
        path, json={"accept": [1], "reject": [2]}, headers={"If-Match": refused.headers["etag"]}
    )
    assert both.status_code == 422


def test_a_photo_that_was_a_mistake_is_taken_back_with_a_reason(yard: Yard, browser: TestClient) -> None:
    board = board_for(yard, "SG-0001-A")
    photo = keep_photo(yard, board, Face.A, None)
    assert browser.post(f"/api/photos/{photo.number}/take-back", json={"because": ""}).status_code == 422
    told = browser.post(f"/api/photos/{photo.number}/take-back", json={"because": "the wrong board"})
    assert told.json() == {"photo": photo.number, "board": board, "because": "the wrong board"}
    other = keep_photo(yard, board, Face.B, None, b"another")
    page = f"/board/{board}"
    assert post(browser, f"{page}/photos/back", page, photo=str(other.number)).status_code == 422
    post(browser, f"{page}/photos/back", page, photo=str(other.number), because="blurred")
    assert browser.get(f"/api/boards/{board}/photos").json() == {"photos": []}


def test_the_photograph_page_lists_bare_boards_and_finds_one_by_number(
    yard: Yard, browser: TestClient
) -> None:
    first, second = board_for(yard, "SG-0001-A"), board_for(yard, "SG-0008-A", docket="2")
    keep_photo(yard, first, Face.A, None)
    page = browser.get("/photograph").text
    assert f'href="/photograph/{first}"' in page
    assert browser.get(f"/photograph?number={second.lower()}").headers["location"] == f"/photograph/{second}"
    one = browser.get(f"/photograph/{first}").text
    assert 'value="B" checked' in one
    assert f'data-next="{second}"' in one
    keep_photo(yard, first, Face.B, None, b"another")
    assert f'href="/photograph/{first}"' not in browser.get("/photograph").text


def test_as_a_plain_form_a_picture_becomes_an_errand(yard: Yard, browser: TestClient) -> None:
    board = board_for(yard, "SG-0008-A")
    sent = hand_in(browser, f"/photograph/{board}", "SG-0008-A", face="A")
    assert (sent.status_code, sent.headers["location"]) == (303, "/errand/1")
    assert board in browser.get("/errand/1").text
