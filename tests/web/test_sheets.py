"""Sheets: each kind comes as a PDF, for people and for scripts, or says why not."""

import json

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.jobs import add_job
from stockyard.services.plan_job import plan_job
from tests.web.test_plan import JOB

WAYS = (
    ("bench", {"plan": "1", "start": "2026-03-02"}),
    ("plan", {"plan": "1"}),
    ("cuts", {"plan": "1"}),
    ("panels", {"plan": "1", "panel": "top"}),
    ("boards", {"boards": "SG-0001, SG-0002"}),
    ("labels", {"boards": "SG-0001", "skip": "2", "outline": "1"}),
    ("labels", {"place": "rack 1", "single": "1", "size": "62x29", "copies": "2"}),
    ("delivery", {"docket": "1"}),
    ("materials", {"job": "shelf"}),
)


@pytest.fixture
def planned(stocked: Yard) -> Yard:
    panel = JOB["panels"][0] | {"species": ["spotted gum"]}
    add_job(stocked.open_work, json.dumps(JOB | {"panels": [panel]}).encode())
    plan_job(stocked.open_work, "shelf", seconds=6)
    return stocked


@pytest.mark.parametrize("ways", ["/sheets", "/api/sheets"])
def test_every_sheet_comes_as_a_pdf(planned: Yard, browser: TestClient, ways: str) -> None:
    for kind, asked in WAYS:
        answer = browser.get(f"{ways}/{kind}.pdf", params=asked)
        assert answer.status_code == 200, f"{kind}: {answer.text[-400:]}"
        assert answer.headers["content-type"] == "application/pdf", kind
        assert answer.content.startswith(b"%PDF-"), kind


@pytest.mark.parametrize(
    ("kind", "asked", "status", "said"),
    [
        ("bench", {"plan": "9"}, 404, "9"),
        ("bench", {"plan": "one"}, 422, "a whole number"),
        ("bench", {"plan": "1", "start": "soon"}, 422, "start"),
        ("boards", {}, 422, "No board is meant"),
        ("labels", {"boards": "SG-0001", "size": "1x1"}, 422, "size"),
        ("labels", {"boards": "SG-0001", "copies": "99"}, 422, "copies"),
        ("delivery", {}, 422, "No delivery is meant"),
        ("materials", {"job": "none"}, 404, "none"),
        ("atlas", {}, 404, "atlas"),
    ],
)
def test_what_cannot_be_drawn_says_why(
    planned: Yard, browser: TestClient, kind: str, asked: dict[str, str], status: int, said: str
) -> None:
    for ways in ("/sheets", "/api/sheets"):
        answer = browser.get(f"{ways}/{kind}.pdf", params=asked)
        assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert said in answer.text


def test_the_page_says_what_is_true_to_scale(planned: Yard, browser: TestClient) -> None:
    page = browser.get("/sheets").text
    assert "Print at 100 %" in page
    assert '<option value="1">1: shelf, proposed</option>' in page


def test_labels_lead_to_the_boards_page_of_this_app(planned: Yard, browser: TestClient) -> None:
    named = browser.get("/sheets/labels.pdf", params={"boards": "SG-0001"})
    assert 'filename="label-SG-0001.pdf"' in named.headers["content-disposition"]
