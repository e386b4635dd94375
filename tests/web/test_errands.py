"""Long work beside the requests: done, watched, stopped, dropped, taken up again after an end half-way."""

import threading
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from stockyard.errors import Refused
from stockyard.records import Yard, open_yard
from stockyard.services import errand_kinds, errands
from stockyard.services.errand_kinds import Watch
from stockyard.services.jobs import add_job
from stockyard.timber.errand import Errand, ErrandState, Stop
from stockyard.web import errand_runner
from stockyard.web.app import create_app
from tests.services.yards import receive
from tests.web.conftest import HERE, post

JOB = b"""{"format": "stockyard.job/1", "id": "shelf", "moisture": {"unread": "allow"}, "panels": [
  {"id": "top", "length": 1200, "width": 300, "thickness": 24, "species": ["spotted gum"],
   "staves": {"min": 2, "max": 4}, "stave_width": {"min": 70, "max": 160}, "show": "one", "priority": 1}]}"""


@pytest.fixture
def yard(sqlite_path: Path) -> Iterator[Yard]:
    """A yard with the real clock, since errands are told dead from alive by it."""
    with open_yard(sqlite_path) as opened:
        receive(opened, *["spotted gum,2400,180,32,48.00"] * 4)
        add_job(opened.open_work, JOB)
        yield opened


@pytest.fixture
def browser(yard: Yard) -> Iterator[TestClient]:
    """The app with its worker."""
    with TestClient(create_app(yard.open_work), base_url=HERE, follow_redirects=False) as client:
        yield client


def wait_for(what: Callable[[], Any], seconds: float = 20.0) -> Any:
    """What `what` answers once that is anything."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.02)
    raise AssertionError("it never came")


def over(yard: Yard, number: int) -> Errand:
    """The errand once it is over."""
    return wait_for(lambda: found if (found := errands.show_errand(yard.open_work, number)).over else None)


def test_a_selection_is_asked_for_watched_and_leads_to_its_plan(yard: Yard, browser: TestClient) -> None:
    asked = browser.post("/api/jobs/shelf/select", json={"seconds": 10})
    assert asked.status_code == 202
    errand = over(yard, asked.json()["id"])
    told = browser.get(asked.headers["location"]).json()
    assert (errand.state, told["state"]) == (ErrandState.DONE, "done")
    assert told["result"]["status"] == "optimal"
    plan = browser.get(f"/api/plans/{told['result']['plan']}").json()
    assert plan["document"]["format"] == "stockyard.plan/1"
    assert told["page"] == f"/plan/{plan['plan']}"


def test_a_job_that_is_not_there_is_refused_at_once(browser: TestClient) -> None:
    assert browser.post("/api/jobs/bench/select").status_code == 404


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> threading.Event:
    """A kind of errand that goes on until it is stopped, and counts how often it was begun."""
    begun = threading.Event()

    def wait(open_work: Any, errand: Errand, watch: Watch) -> Mapping[str, Any]:
        begun.set()
        step = 0
        while (stop := watch({"step": step})) is Stop.NO:
            step += 1
            time.sleep(0.01)
        with errand_kinds.unless_dropped(open_work, watch)() as work:
            work.workshop.set("waited", step)
            work.commit()
        return {"stopped": stop.value}

    monkeypatch.setattr(errand_kinds, "WORK", {**errand_kinds.WORK, "wait": wait})
    monkeypatch.setattr(errand_runner, "WORK", errand_kinds.WORK)
    monkeypatch.setattr(errand_runner, "_TELL_EVERY", 0.02)
    return begun


@pytest.mark.parametrize(("keep", "state", "left"), [("1", "done", True), ("0", "dropped", False)])
def test_stopping_keeps_the_best_or_leaves_nothing(
    yard: Yard, browser: TestClient, slow: threading.Event, keep: str, state: str, left: bool
) -> None:
    number = errands.ask_for(yard.open_work, "wait", {}).id
    browser.app.state.errands.poke()  # type: ignore[attr-defined]
    assert slow.wait(10)
    wait_for(lambda: errands.show_errand(yard.open_work, number).progress)

    post(browser, f"/errand/{number}/stop", "/more", keep=keep)

    assert over(yard, number).state == state
    with yard.open_work(reading=True) as work:
        assert (work.workshop.get("waited") is not None) is left


def test_an_errand_outlives_the_server(yard: Yard, slow: threading.Event) -> None:
    with TestClient(create_app(yard.open_work), base_url=HERE):
        number = errands.ask_for(yard.open_work, "wait", {"for": "ever"}, {"tally.csv": b"1,2"}).id
        assert slow.wait(10)
    standing = errands.show_errand(yard.open_work, number)
    assert (standing.state, standing.attached) == (ErrandState.WAITING, ("tally.csv",))

    slow.clear()
    with TestClient(create_app(yard.open_work), base_url=HERE):
        assert slow.wait(10)
        errands.stop_errand(yard.open_work, number, keep=True)
        assert over(yard, number).state is ErrandState.DONE
    assert errands.show_errand(yard.open_work, number).attached == ()


def test_a_silent_workers_errand_is_taken_up_and_what_it_says_later_is_not_heard(yard: Yard) -> None:
    number = errands.ask_for(yard.open_work, "select", {}).id
    assert errands.next_errand(yard.open_work, "first", ["select"]) is not None
    assert errands.next_errand(yard.open_work, "second", ["select"]) is None

    later = partial(yard.open_work, now=datetime.now().astimezone() + timedelta(minutes=1))
    taken = errands.next_errand(later, "second", ["select"])

    assert taken is not None
    assert (taken.id, taken.attempts) == (number, 2)
    assert errands.under_way(later, number, "first") is Stop.DROP
    errands.ended(later, number, "first", ErrandState.DONE, result={"of": "the first"})
    assert errands.show_errand(yard.open_work, number).state is ErrandState.RUNNING


def test_an_errand_that_ends_its_worker_each_time_is_given_up(yard: Yard) -> None:
    number = errands.ask_for(yard.open_work, "select", {}).id
    for minute in range(1, 5):
        later = partial(yard.open_work, now=datetime.now().astimezone() + timedelta(minutes=minute))
        errands.next_errand(later, f"worker {minute}", ["select"])
    given_up = errands.show_errand(yard.open_work, number)
    assert given_up.state is ErrandState.FAILED
    assert given_up.complaint is not None
    assert "3 times" in given_up.complaint["message"]


def test_what_a_service_refuses_is_told_on_the_errands_page(
    yard: Yard, browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> Mapping[str, Any]:
        raise Refused("The saw is out.")

    monkeypatch.setattr(errand_kinds, "WORK", {"select": refuse})
    number = errands.ask_for(yard.open_work, "select", {"job": "shelf"}).id
    browser.app.state.errands.poke()  # type: ignore[attr-defined]
    assert over(yard, number).state is ErrandState.FAILED
    assert "The saw is out." in browser.get(f"/errand/{number}").text
