"""Stock and worth on any day, as pages, charts, files and JSON."""

from datetime import date

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.web.app import create_app
from stockyard.web.screens.stock import WITH_CHART
from tests.services.yards import receive
from tests.web.conftest import HERE


def test_what_is_on_hand_is_summed_by_kind(browser: TestClient) -> None:
    told = browser.get("/api/stock?by=species&by=thickness").json()
    # The four boards of the yard: 48.00, 51.00, 30.00 and 22.50.
    assert (told["pieces"], told["timber"], told["currency"]) == (4, 151.5, "AUD")
    assert told["groups"] == [
        {"species": "blackbutt", "thickness": 25, "pieces": 1, "gross_m3": 0.0063, "worth": 22.5},
        {"species": "spotted gum", "thickness": 25, "pieces": 1, "gross_m3": 0.0063, "worth": 30},
        {"species": "spotted gum", "thickness": 32, "pieces": 2, "gross_m3": 0.0282, "worth": 99},
    ]
    page = browser.get("/stock").text
    assert "151.50 AUD" in page
    assert "99.00" in page


def test_a_day_gone_by_shows_what_stood_then(sqlite_yard: Yard) -> None:
    receive(sqlite_yard, "jarrah,2000,100,25,20.00", day=date(2026, 1, 5))
    receive(sqlite_yard, "jarrah,2000,100,25,30.00", docket="2", day=date(2026, 1, 20))
    with TestClient(create_app(sqlite_yard.open_work, at_work=False), base_url=HERE) as client:
        assert client.get("/api/stock?as_of=2026-01-04").json()["timber"] == 0
        assert client.get("/api/stock?as_of=2026-01-10").json()["timber"] == 20
        page = client.get("/stock?as_of=10+Jan+2026&by=docket").text
        assert "20.00 AUD" in page
        assert "5 Jan" not in page
        assert "1 piece" in page


def test_a_day_that_is_none_or_is_to_come_is_said(browser: TestClient) -> None:
    for query in ("as_of=yesterday", "as_of=2999-01-01"):
        assert browser.get(f"/stock?{query}").status_code == 422
    told = browser.get("/api/stock?as_of=2999-01-01").json()
    assert told["faults"][0]["found"] == "2999-01-01"


@pytest.mark.parametrize("name", ["stock", "age", "moisture", "worth", "journal"])
def test_a_report_holds_the_same_as_page_and_json(browser: TestClient, name: str) -> None:
    told = browser.get(f"/api/reports/{name}").json()
    page = browser.get(f"/stock/report/{name}").text
    assert told["rows"]
    assert all(column["title"] in page for column in told["columns"])
    assert (f"/stock/chart/{name}.svg" in page) == (name in WITH_CHART)
    file = browser.get(f"/stock/file/{name}.csv").text
    assert len(file.splitlines()) == len(told["rows"]) + 1


def test_a_chart_is_drawn_to_be_printed(browser: TestClient) -> None:
    drawn = browser.get("/stock/chart/worth.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert "<svg" in drawn.text
    assert browser.get("/stock/chart/worth.png").content.startswith(b"\x89PNG")
    for path in ("/stock/chart/worth.gif", "/stock/chart/stock.svg", "/stock/chart/nothing.svg"):
        assert browser.get(path).status_code == 422, path


def test_what_runs_low_is_shown(browser: TestClient, stocked: Yard) -> None:
    from decimal import Decimal

    from stockyard.services.reorder import set_timber_point
    from stockyard.services.supplies import add_supply

    add_supply(stocked.open_work, "PVA glue", kind="glue", unit="mL")
    set_timber_point(stocked.open_work, "blackbutt", 25, Decimal(40))
    page = browser.get("/stock").text
    assert "Running low" in page
    assert "2.1 of 40 m" in page
    assert "PVA glue" in page
    (point,) = browser.get("/api/reorder").json()["points"]
    assert (point["what"], point["there"], point["low"]) == ("blackbutt", 2.1, True)
