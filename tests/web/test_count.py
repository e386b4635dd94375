"""A count from the page and through JSON: numbers typed and photographed, differences looked at, booked."""

import io

import segno
from fastapi.testclient import TestClient
from PIL import Image

from tests.web.conftest import post


def label(held: str) -> bytes:
    """A picture of a label that holds this."""
    made = io.BytesIO()
    segno.make(held, error="q", micro=False).save(made, kind="png", scale=9, border=4)
    return made.getvalue()


def test_a_place_is_counted_looked_at_and_booked(browser: TestClient) -> None:
    begun = post(browser, "/count", "/count", place="rack 1")
    assert begun.headers["location"] == "/count/1"

    post(browser, "/count/1/numbers", "/count/1", numbers="sg-0001, SG-0002 BB-0001 SG-0099")
    page = browser.get("/count/1").text
    assert "Missing" in page
    assert "SG-0003" in page
    assert "SG-0099" in page
    assert "30.00 AUD" in page  # what SG-0003 stands for
    assert browser.get("/api/boards/SG-0003").json()["status"] == "free"

    refused = post(browser, "/count/1/book", "/count/1")
    assert refused.status_code == 422
    assert "why they are missing" in refused.text

    booked = post(browser, "/count/1/book", "/count/1", reason="burnt")
    assert booked.headers["location"] == "/count/1"
    assert browser.get("/api/boards/SG-0003").json()["status"] == "gone"
    assert browser.get("/api/stocktakes/1").json()["state"] == "booked"


def test_a_number_read_by_mistake_is_taken_back(browser: TestClient) -> None:
    post(browser, "/count", "/count", place="rack 1")
    post(browser, "/count/1/numbers", "/count/1", numbers="SG-0001")
    post(browser, "/count/1/numbers", "/count/1", numbers="SG-0001", take_back="1")
    assert browser.get("/api/stocktakes/1").json()["counts"]["missing"] == 4


def test_a_size_measured_while_counting_is_a_difference(browser: TestClient) -> None:
    post(browser, "/count", "/count", place="rack 1")
    wrong = post(browser, "/count/1/numbers", "/count/1", numbers="SG-0001", length="2300")
    assert wrong.status_code == 422
    size = {"length": "2300", "width": "180", "thickness": "32"}
    post(browser, "/count/1/numbers", "/count/1", numbers="SG-0001", **size)
    lines = browser.get("/api/stocktakes/1").json()["lines"]
    told = {each["finding"]: each["told"] for each in lines if each["id"] == "SG-0001"}
    assert told == {"remeasured": "2400 x 180 x 32 -> 2300 x 180 x 32", "found": ""}


def test_a_picture_of_a_label_counts_as_its_number(browser: TestClient) -> None:
    browser.post("/api/stocktakes", json={"place": "rack 1"})
    token = browser.get("/").text.partition('name="csrf" content="')[2].partition('"')[0]
    sent = browser.post(
        "/api/stocktakes/1/picture",
        files={"picture": ("wall.png", label("http://yard.example/board/SG-0002"), "image/png")},
        headers={"X-CSRF-Token": token},
    )
    assert sent.json()["read"] == ["http://yard.example/board/SG-0002"]
    assert sent.json()["counts"]["found"] == 1

    blank = io.BytesIO()
    Image.new("RGB", (400, 300)).save(blank, "PNG")
    nothing = browser.post(
        "/api/stocktakes/1/picture",
        files={"picture": ("wall.png", blank.getvalue(), "image/png")},
        headers={"X-CSRF-Token": token},
    )
    assert nothing.status_code == 422
    assert "No label can be read" in nothing.json()["detail"]


def test_a_count_that_is_dropped_books_nothing(browser: TestClient) -> None:
    post(browser, "/count", "/count", place="rack 1")
    post(browser, "/count/1/drop", "/count/1")
    assert browser.get("/api/stocktakes").json()["stocktakes"][0]["state"] == "dropped"
    assert browser.get("/api/stock").json()["pieces"] == 4


def test_the_part_that_is_fetched_is_what_the_page_holds(browser: TestClient) -> None:
    post(browser, "/count", "/count", place="rack 1")
    part, page = browser.get("/count/1/so-far").text, browser.get("/count/1").text
    assert "<html" not in part
    assert " ".join(part.split()) in " ".join(page.split())
