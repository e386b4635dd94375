"""A tally checked, mended and booked as plain forms and through the JSON interface."""

import base64
import re

from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.errand_kinds import do
from stockyard.services.errands import next_errand
from stockyard.timber.errand import Stop
from tests.web.conftest import post, token_in

GOOD = """Species,Length (mm),Width (mm),Thickness (mm),Qty,Price each
spotted gum,2400,180,32,2,48.00
blackbutt,2000,150,32,1,51.00
"""
DOCKET = {"supplier": "Riverbend Mill", "docket": "77", "tax": "0"}


def test_a_good_tally_is_looked_at_and_then_booked_once(browser: TestClient) -> None:
    looked = browser.post("/api/deliveries/check", json={"text": GOOD, **DOCKET}).json()
    assert [(each["header"], each["role"]) for each in looked["columns"]][:2] == [
        ("Species", "species"),
        ("Length (mm)", "length"),
    ]
    assert (looked["faults"], looked["receipt"]["booked"], looked["receipt"]["landed"]) == ([], False, 147)
    assert [each["docket"] for each in browser.get("/api/deliveries").json()["deliveries"]] == ["1"]

    booked = browser.post("/api/deliveries", json={"text": GOOD, **DOCKET})
    assert (booked.status_code, len(booked.json()["pieces"])) == (201, 3)
    again = browser.post("/api/deliveries", json={"text": GOOD, **DOCKET})
    assert again.status_code == 409
    assert [each["docket"] for each in browser.get("/api/deliveries").json()["deliveries"]] == ["77", "1"]


def test_every_fault_of_tally_and_docket_is_told_in_its_place(browser: TestClient) -> None:
    text = GOOD.replace("2000", "two metres").replace("blackbutt", "blakbutt")
    told = browser.post("/api/deliveries/check", json={"text": text, "docket": "78"}).json()
    assert {each["where"] for each in told["faults"]} == {"--supplier", "row 3, column B (Length (mm))"}
    assert told["receipt"] is None
    words = {**DOCKET, "price_unit": "bushel", "columns": {"Qty": "nonsense"}, "freight": "much"}
    refused = browser.post("/api/deliveries/check", json={"text": GOOD, **words})
    assert refused.status_code == 422
    assert {each["where"] for each in refused.json()["faults"]} == {"price_unit", "column Qty", "freight"}


def test_a_column_may_be_said_to_hold_something_else(browser: TestClient) -> None:
    text = GOOD.replace("Qty", "Remarkable")
    told = browser.post(
        "/api/deliveries/check", json={"text": text, **DOCKET, "columns": {"Remarkable": "pieces"}}
    ).json()
    assert len(told["receipt"]["pieces"]) == 3


def test_a_long_tally_is_booked_beside_the_request(browser: TestClient, stocked: Yard) -> None:
    content = base64.b64encode(GOOD.encode()).decode()
    asked = browser.post("/api/deliveries", json={"content": content, **DOCKET, "later": True})
    assert asked.status_code == 202
    errand = next_errand(stocked.open_work, "worker", ("import",))
    assert errand is not None
    told: list[object] = []

    result = do(stocked.open_work, errand, lambda news: told.append(news) or Stop.NO)

    assert result == {"docket": "77", "supplier": "Riverbend Mill", "pieces": 3}
    assert {"stage": "booking"} in told


def test_neither_or_both_of_text_and_content_is_refused(browser: TestClient) -> None:
    for given in ({}, {"text": GOOD, "content": "eA=="}, {"content": "not base64"}):
        assert browser.post("/api/deliveries", json={**DOCKET, **given}).status_code == 422


def test_a_mended_cell_is_booked_and_everything_else_stays(browser: TestClient) -> None:
    wrong = GOOD.replace("2000", "two metres")
    page = post(browser, "/delivery/check", "/delivery", text=wrong, **DOCKET).text
    assert 'name="c-3-1" value="two metres"' in page
    carried = re.search(r'name="carried" value="([^"]+)"', page)
    assert carried
    fields = {"csrf": token_in(page), "carried": carried[1], "name": "pasted.csv", **DOCKET}

    still = browser.post("/delivery/book", data={**fields, "c-3-1": "still wrong"})
    assert still.status_code == 422
    assert 'value="still wrong"' in still.text
    booked = browser.post("/delivery/book", data={**fields, "c-3-1": "2000"})

    assert (booked.status_code, booked.headers["location"]) == (303, "/rack?docket=77")
    boards = browser.get("/api/boards?docket=77").json()["boards"]
    assert sorted(each["length"] for each in boards) == [2000, 2400, 2400]


def test_a_new_species_is_taken_when_it_is_ticked(browser: TestClient) -> None:
    text = GOOD.replace("blackbutt", "river oak")
    page = post(browser, "/delivery/check", "/delivery", text=text, **DOCKET).text
    assert 'name="new_species" value="river oak"' in page
    page = post(browser, "/delivery/check", "/delivery", text=text, new_species="river oak", **DOCKET).text
    assert "Book 3 boards" in page


def test_no_tally_at_all_is_said(browser: TestClient) -> None:
    answer = post(browser, "/delivery/check", "/delivery", **DOCKET)
    assert answer.status_code == 422
    assert "There is no tally yet." in answer.text


def test_entering_by_hand_works_as_a_form(browser: TestClient) -> None:
    line = {"species": "jarrah", "length": "2,4 m", "width": "180", "thickness": "32", "pieces": "2"}
    page = post(
        browser, "/delivery/by-hand", "/delivery/by-hand", price="40", price_unit="lineal metre", **line
    )
    assert 'data-sum="pieces">2<' in page.text
    assert 'data-sum="money">192.00<' in page.text  # 2 x 2.4 m at 40.00
    tally = re.search(r'name="text" value="([^"]+)"', page.text)
    assert tally
    refused = post(
        browser, "/delivery/by-hand", "/delivery/by-hand", text=tally[1], **{**line, "width": "wide"}
    )
    assert refused.status_code == 422
    assert 'data-sum="pieces">2<' in refused.text
    off = post(browser, "/delivery/by-hand", "/delivery/by-hand", text=tally[1], off="0", **line)
    assert 'data-sum="pieces">0<' in off.text


def test_a_tally_too_large_for_the_page_shows_only_what_is_wrong(browser: TestClient) -> None:
    rows = "".join(f"spotted gum,{1000 + n},150,32,1,20\n" for n in range(400))
    text = GOOD + rows + "spotted gum,?,150,32,1,20\n"
    page = post(browser, "/delivery/check", "/delivery", text=text, **DOCKET).text
    assert 'name="c-404-1" value="?"' in page
    assert 'name="c-200-1"' not in page
    assert "402 more rows were read without a fault." in page
