"""The day's list: what waits is named, and is read without loading what it does not show."""

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import event

from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.climate_log import add_air
from stockyard.services.jobs import add_job
from stockyard.services.plan_job import plan_job
from stockyard.services.what_needs_a_hand import what_needs_a_hand
from stockyard.web.app import create_app
from tests.services.yards import receive
from tests.web.conftest import HERE
from tests.web.test_errands import JOB


@pytest.fixture
def planned(sqlite_yard: Yard) -> Iterator[TestClient]:
    """A yard with a plan for one shelf."""
    receive(sqlite_yard, *["spotted gum,2400,180,32,48.00"] * 4)
    add_job(sqlite_yard.open_work, JOB)
    plan_job(sqlite_yard.open_work, "shelf", seconds=5)
    with TestClient(create_app(sqlite_yard.open_work, at_work=False), base_url=HERE) as client:
        yield client


def test_boards_to_photograph_and_to_measure_are_counted(browser: TestClient) -> None:
    page = browser.get("/").text
    assert "With a face to be photographed" in page
    assert page.count("4 boards") == 1
    assert "Never read for moisture" in page


def test_a_plan_waits_to_be_decided_on_then_for_the_saw(planned: TestClient, sqlite_yard: Yard) -> None:
    assert "Plans to decide on" in planned.get("/").text
    allocate_plan(sqlite_yard.open_work, 1)
    page = planned.get("/").text
    assert "Promised, waiting for the saw" in page
    assert "Plans to decide on" not in page


def test_a_plan_whose_board_has_changed_is_named_with_the_board(
    planned: TestClient, sqlite_yard: Yard
) -> None:
    board = planned.get("/api/plans/1").json()["boards"][0]
    etag = planned.get(f"/api/boards/{board}").headers["etag"]
    planned.patch(f"/api/boards/{board}", json={"length": 2390}, headers={"If-Match": etag})
    page = planned.get("/").text
    assert "Plans whose boards have changed" in page
    assert board in page.partition("Plans whose boards have changed")[2]


def test_boards_of_plans_are_judged_once_the_air_is_known(planned: TestClient, sqlite_yard: Yard) -> None:
    before = what_needs_a_hand(sqlite_yard.open_work)
    assert before.no_air
    assert before.no_air in planned.get("/").text.replace("&#39;", "'").replace("&#34;", '"')
    add_air(sqlite_yard.open_work, "shop", 20.0, 50.0, zone="Australia/Melbourne")
    after = what_needs_a_hand(sqlite_yard.open_work)
    assert after.no_air == ""
    # None of them was ever read, so none can be ready.
    assert (after.ready, len(after.not_ready)) == (0, len(after.proposed[0].seen))
    assert "not ready" in planned.get("/").text


def test_no_plan_is_loaded_whole(planned: TestClient, sqlite_yard: Yard) -> None:
    asked: list[str] = []
    with sqlite_yard.open_work(reading=True) as work:
        engine = work.connection.engine
    event.listen(engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    what_needs_a_hand(sqlite_yard.open_work)
    assert asked
    assert [each for each in asked if "plan.document" in each or "plan.stock" in each] == []
