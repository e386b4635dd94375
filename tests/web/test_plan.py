"""Plans in the app: looked at, changed around, promised, cut as it went, and what that leaves to be done."""

import json
import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services import errand_kinds, errands
from stockyard.services.jobs import add_job
from stockyard.services.list_boards import list_boards
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.plan_job import list_plans, plan_job, show_plan
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.defect import DefectKind, Face
from stockyard.timber.errand import ErrandState, Stop
from stockyard.timber.piece import PieceStatus
from stockyard.timber.rack_query import RackQuery
from tests.services.yards import receive
from tests.web.conftest import post

JOB: dict[str, Any] = {
    "format": "stockyard.job/1",
    "id": "shelf",
    "moisture": {"unread": "allow"},
    "rules": {face: {"crack": {"do": "treat", "per_item": 1}} for face in ("show", "back")},
    "panels": [
        {"id": "top", "length": 800, "width": 300, "thickness": 24, "species": ["blackwood"],
         "staves": {"min": 3, "max": 3}, "stave_width": {"min": 100, "max": 100}}
    ],
}  # fmt: skip


@pytest.fixture
def planned(stocked: Yard) -> Yard:
    """A yard with plan 1 for a shelf of three staves.

    It is made from five boards of blackwood, each just wide enough for a stave, with a crack that no stave
    can be cut clear of.
    """
    receipt = receive(stocked, *["blackwood,1300,115,32,20.00"] * 5, docket="2")
    for piece in receipt.pieces:
        crack = Sketch(kind=DefectKind.CRACK, face=Face.A, box=(450, 55, 520, 57), depth_mm=12)
        add_defect(stocked.open_work, piece.number, crack)
    add_job(stocked.open_work, json.dumps(JOB).encode())
    plan_job(stocked.open_work, "shelf", seconds=6)
    return stocked


def test_a_plan_says_what_it_knows_of_itself(planned: Yard, browser: TestClient) -> None:
    page = browser.get("/plan/1").text
    plan = show_plan(planned.open_work, 1).plan
    if plan.status.value == "optimal":
        assert "Proved best: no lawful plan that does what was asked costs less." in page
    else:
        assert f"no plan that does what was asked costs less than {plan.bound:,.2f} AUD" in page
    assert page.count('<svg viewBox="0 0 800 300"') == 2
    for place, stave in enumerate(plan.panels[0].staves):
        assert f'name="pin" value="{stave.board}:top"' in page
        assert f'<span class="place-no">{place + 1}</span>' in page
    treated = [treatment.defect for stave in plan.panels[0].staves for treatment in stave.treat]
    listed = re.findall(r"<li><b>C\d+</b> crack, ([^,]+),", page)
    assert len(treated) == 3
    assert listed == treated


def test_each_boards_cut_map_is_drawn(planned: Yard, browser: TestClient) -> None:
    page = browser.get("/plan/1").text
    maps = re.findall(r'<img src="(/plan/1/cuts/[^"]+)"[^>]*alt="([^"]+)"', page)
    assert len(maps) == len(show_plan(planned.open_work, 1).plan.boards)
    for path, told in maps:
        drawn = browser.get(path)
        assert drawn.headers["content-type"].startswith("image/svg+xml")
        assert "stave" in told.casefold()
    assert browser.get("/plan/1/cuts/BB-0001.svg").status_code == 404
    assert browser.get("/plan/1/cuts/NONE.svg").status_code == 404


def test_two_staves_change_places_in_a_new_plan(planned: Yard, browser: TestClient) -> None:
    answer = post(browser, "/plan/1/swap", panel="top", first="1", second="3")
    assert answer.headers["location"] == "/plan/2"
    was, now = (
        [stave.board for stave in show_plan(planned.open_work, n).plan.panels[0].staves] for n in (1, 2)
    )
    assert now == was[::-1]
    by_script = browser.post("/api/plans/1/swap", json={"panel": "top", "staves": [0, 2]})
    assert by_script.status_code == 201
    assert by_script.headers["location"] == "/api/plans/3"


def test_what_cannot_be_swapped_is_told_on_the_plan(planned: Yard, browser: TestClient) -> None:
    answer = post(browser, "/plan/1/swap", panel="top", first="2", second="2")
    assert answer.status_code == 422
    assert "cannot change places" in answer.text
    assert "Promise its boards to it" in answer.text
    assert len(list_plans(planned.open_work)) == 1


def test_selecting_again_keeps_and_leaves_out_what_was_ticked(planned: Yard, browser: TestClient) -> None:
    first = show_plan(planned.open_work, 1).plan
    used = sorted({stave.board for stave in first.panels[0].staves})
    gone, kept = used[0], used[-1]
    asked = {"pin": [f"{kept}:top"], "forbid": [gone], "seconds": 6}
    number = answered(planned, browser, "/api/jobs/shelf/select", asked)
    made = browser.get(f"/api/errands/{number}").json()["result"]["plan"]
    boards = {stave.board for stave in show_plan(planned.open_work, made).plan.panels[0].staves}
    assert kept in boards
    assert gone not in boards
    assert f"It was asked to keep {kept} in top; leave out {gone}." in browser.get(f"/plan/{made}").text


def test_promising_and_giving_back(planned: Yard, browser: TestClient) -> None:
    post(browser, "/plan/1/allocate")
    assert show_plan(planned.open_work, 1).booked.status is PlanStatus.ALLOCATED
    page = browser.get("/plan/1").text
    assert 'href="/plan/1/cut"' in page
    assert 'name="without"' in page

    twice = post(browser, "/plan/1/allocate")
    assert twice.status_code == 409
    assert "Plan 1 is allocated already." in twice.text

    post(browser, "/plan/1/release", because="the client changed their mind")
    assert show_plan(planned.open_work, 1).booked.status is PlanStatus.RELEASED


def test_a_step_is_noted_as_done_with_what_was_used(planned: Yard, browser: TestClient) -> None:
    post(browser, "/plan/1/allocate")
    path = re.search(r'action="(/plan/1/steps/\d+)"', browser.get("/plan/1").text)
    assert path
    answer = post(browser, path[1], product="thin CA", batch="2291")
    assert answer.headers["location"] == "/plan/1#steps"
    assert "thin CA" in browser.get("/plan/1").text


def test_cutting_is_booked_as_it_really_went(planned: Yard, browser: TestClient) -> None:
    post(browser, "/plan/1/allocate")
    page = browser.get("/plan/1/cut").text
    plan = show_plan(planned.open_work, 1).plan
    board = next(cut.id for cut in plan.boards if cut.offcuts)
    wide = plan.panels[0].staves[1].rough.width_mm
    went = {"went top/0": "spoiled", "width top/1": f"{wide - 2}", f"rack {board}/0": "bin 7"}
    assert 'name="went top/0"' in page

    held = post(browser, "/plan/1/cut", **went)
    if held.status_code == 409:  # treatments that come before the saw are open
        held = post(browser, "/plan/1/cut", **went, anyway="1")
    assert held.headers["location"] == "/plan/1#pieces"

    pieces = list_boards(planned.open_work, RackQuery(cut_by=1, status=tuple(PieceStatus)))
    staves = {piece.stave: piece for piece in pieces if piece.panel == "top"}
    assert sorted(staves, key=str) == [1, 2]
    assert staves[1].width_mm == wide - 2
    offcut = next(piece for piece in pieces if piece.panel is None and piece.parent == board)
    assert offcut.place == "bin 7"
    after = browser.get("/plan/1").text
    assert f'name="place {offcut.number}" value="bin 7"' in after

    moved = {f"place {offcut.number}": "bin 8", f"was {offcut.number}": "bin 7"}
    post(browser, "/plan/1/places", **moved)
    (again,) = list_boards(planned.open_work, RackQuery(numbers=(offcut.number,)))
    assert again.place == "bin 8"


def test_what_is_wrong_at_the_saw_is_told_and_nothing_is_cut(planned: Yard, browser: TestClient) -> None:
    assert browser.get("/plan/1/cut").status_code == 409
    post(browser, "/plan/1/allocate")
    for width in ("wide", "900"):
        answer = post(browser, "/plan/1/cut", **{"width top/1": width, "anyway": "1"})
        assert answer.status_code == 422
        assert f'value="{width}"' in answer.text
    assert show_plan(planned.open_work, 1).booked.status is PlanStatus.ALLOCATED


def test_a_spoiled_stave_is_planned_again_and_the_page_says_what_changed(
    planned: Yard, browser: TestClient
) -> None:
    browser.post("/api/plans/1/allocate")
    cut = browser.post(
        "/api/plans/1/cut",
        json={
            "spoiled": [{"panel": "top", "stave": 0}],
            "widths": [{"panel": "top", "stave": 1, "width": 104}],
            "force": True,
        },
    )
    assert sorted(piece["width"] for piece in cut.json()["staves"])[0] == 104
    asked = browser.post("/api/plans/1/again", json={"seconds": 6})
    assert asked.status_code == 202
    number = asked.json()["id"]
    errand = errands.next_errand(planned.open_work, "here", ["again"])
    assert errand is not None
    result = errand_kinds.do(planned.open_work, errand, lambda _: Stop.NO)
    errands.ended(planned.open_work, number, "here", ErrandState.DONE, result=result)
    page = browser.get(browser.get(f"/api/errands/{number}").json()["page"])
    assert page.status_code == 200
    assert "What planning again changed" in page.text
    assert [panel for panel, _ in result["new"]] == ["top"]
    assert result["kept"] == 2


def test_boards_are_ranked_and_the_others_told_what_they_lack(planned: Yard, browser: TestClient) -> None:
    number = answered(planned, browser, "/api/jobs/shelf/suits", {"panel": "top", "seconds": 6})
    page = browser.get(f"/suits/{number}").text
    told = browser.get(f"/api/errands/{number}").json()["result"]
    assert len(told["suited"]) == 5
    assert "Of another species" in page
    assert "BB-0001" in page
    why = browser.get("/api/jobs/shelf/why/BB-0001").json()
    assert "species" in [each["why"] for each in why["panels"][0]["obstacles"]]
    assert browser.get("/api/jobs/shelf/why/NONE").status_code == 404
    assert browser.get(f"/choices/{number}").status_code == 404


def test_plans_stand_side_by_side_with_what_each_costs_more(planned: Yard, browser: TestClient) -> None:
    number = answered(planned, browser, "/api/jobs/shelf/choices", {"seconds": 6, "count": 3})
    page = browser.get(f"/choices/{number}").text
    told = browser.get(f"/api/errands/{number}").json()["result"]["choices"]
    assert told[0]["more"] == 0
    for choice in told:
        assert f'href="/plan/{choice["plan"]}"' in page
        assert show_plan(planned.open_work, choice["plan"]).booked.document["cost"] == choice["cost"]


def answered(yard: Yard, browser: TestClient, path: str, asked: dict[str, Any]) -> int:
    """The number of an errand asked for through the JSON interface and done here and now."""
    number = int(browser.post(path, json=asked).json()["id"])
    errand = errands.next_errand(yard.open_work, "here", [path.rpartition("/")[2]])
    assert errand is not None
    result = errand_kinds.do(yard.open_work, errand, lambda _: Stop.NO)
    errands.ended(yard.open_work, number, "here", ErrandState.DONE, result=result)
    return number
