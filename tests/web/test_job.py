"""Jobs in the app: entered, uploaded, changed by two, and every fault told where it is."""

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.jobs import add_job, list_jobs, show_job
from tests.web.conftest import post, token_in

PANEL = {
    "id": "top", "length": "1200", "width": "300", "thickness": "24", "species": "spotted gum, blackbutt",
    "staves.min": "2", "staves.max": "4", "stave_width.min": "70", "stave_width.max": "160", "show": "both",
    "priority": "1",
}  # fmt: skip
DOCUMENT: dict[str, Any] = {
    "format": "stockyard.job/1",
    "id": "bench",
    "allowances": {"kerf": 2.5, "offcut": {"length": 250}},
    "moisture": {"max": 13, "unread": "allow"},
    "costs": {"match": 0.5},
    "rings": "same",
    "rules": {"show": {"crack": {"do": "treat", "per_item": 2, "max_length": 200}}, "back": {}},
    "panels": [
        {"id": "top", "length": 1200, "width": 300.5, "thickness": 24, "species": ["spotted gum"],
         "staves": {"min": 2, "max": 4}, "stave_width": {"min": 70, "max": 160}, "show": "one", "priority": 2}
    ],
}  # fmt: skip


def _payload(**changes: str) -> dict[str, str]:
    """A form that is sound, but for the changes."""
    panel = {f"panels[0].{name}": value for name, value in PANEL.items()}
    return {"id": "shelf", "version": "0", "no_rules": "", **panel, **changes}


def send(browser: TestClient, **changes: str) -> Any:
    return browser.post("/jobs", data={"csrf": token_in(browser.get("/jobs").text), **_payload(**changes)})


def test_a_job_is_kept_as_it_was_entered(stocked: Yard, browser: TestClient) -> None:
    answer = send(browser, **{"rule[0].kind": "crack", "rule[0].face": "back", "rule[0].do": "accept"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/job/shelf")
    document = show_job(stocked.open_work, "shelf")[0].document
    assert document == {
        "format": "stockyard.job/1",
        "id": "shelf",
        "panels": [
            {"id": "top", "length": 1200, "width": 300, "thickness": 24,
             "species": ["spotted gum", "blackbutt"], "staves": {"min": 2, "max": 4},
             "stave_width": {"min": 70, "max": 160}, "show": "both", "priority": 1}
        ],
        "rules": {"back": {"crack": {"do": "accept"}}},
    }  # fmt: skip


def test_lengths_are_read_in_the_persons_own_unit(stocked: Yard, browser: TestClient) -> None:
    browser.cookies.set("units", "in")
    send(browser, **{"panels[0].length": "47 1/4", "panels[0].stave_width.max": '6"', "panels[0].width": "12",
                     "panels[0].thickness": "1", "panels[0].stave_width.min": "3"})  # fmt: skip
    panel = show_job(stocked.open_work, "shelf")[1].panels[0]
    assert (panel.length_mm, panel.width_mm, panel.stave_width_max_mm) == (1200.15, 304.8, 152.4)


@pytest.mark.parametrize(
    ("field", "typed", "expected"),
    [
        ("panels[0].length", "", "a value"),
        ("panels[0].length", "long", "a number above 0"),
        ("panels[0].species", "spoted gum", "spotted gum"),
        ("panels[0].staves.max", "1", "min no more than max"),
        ("panels[0].priority", "0", "a whole number"),
        ("allowances.kerf", "-1", "0 or more"),
        ("moisture.max", "wet", "a number"),
        ("costs.recovery", "2", "an amount from 0 to 1"),
    ],
)
def test_a_fault_stands_at_its_field_and_nothing_is_kept(
    stocked: Yard, browser: TestClient, field: str, typed: str, expected: str
) -> None:
    answer = send(browser, **{field: typed})
    at = {"panels[0].staves.max": "panels[0].staves.min"}.get(field, field)
    hint = answer.text.partition(f'id="{at}-hint">')[2].partition("</span>")[0]
    assert answer.status_code == 422
    assert expected in hint
    assert list_jobs(stocked.open_work) == ()


def test_a_rule_stands_with_its_fault_though_the_document_names_it_otherwise(browser: TestClient) -> None:
    answer = send(browser, **{"rule[4].kind": "crack", "rule[4].face": "show", "rule[4].do": "treat",
                              "rule[4].per_item": "much"})  # fmt: skip
    assert "an amount from 0" in answer.text.partition('id="rule[0].per_item-hint">')[2][:120]


def test_one_kind_twice_on_a_face_is_a_fault(browser: TestClient) -> None:
    rule = {"kind": "crack", "face": "show", "do": "avoid"}
    twice = {f"rule[{n}].{name}": value for n in (0, 1) for name, value in rule.items()}
    answer = send(browser, **twice)
    assert answer.status_code == 422
    assert "each kind once on a face" in answer.text


def test_more_rows_are_given_without_a_script_and_nothing_typed_is_lost(browser: TestClient) -> None:
    grown = send(browser, more="panel", **{"allowances.kerf": "2,5x"}).text
    assert 'name="panels[1].id"' in grown
    assert 'value="1200"' in grown
    assert 'value="2,5x"' in grown


def test_a_kept_job_comes_back_through_the_form_as_it_was(stocked: Yard, browser: TestClient) -> None:
    add_job(stocked.open_work, json.dumps(DOCUMENT).encode())
    page = browser.get("/job/bench/change").text
    fields = fields_of(page)
    assert fields["version"] == "1"
    answer = browser.post("/jobs", data=fields)
    assert answer.status_code == 303
    booked, _ = show_job(stocked.open_work, "bench")
    assert (booked.version, booked.document) == (1, DOCUMENT)


def test_of_two_who_change_a_job_the_second_is_told(stocked: Yard, browser: TestClient) -> None:
    add_job(stocked.open_work, json.dumps(DOCUMENT).encode())
    fields = fields_of(browser.get("/job/bench/change").text)
    assert browser.post("/jobs", data=fields | {"allowances.kerf": "3"}).status_code == 303
    second = browser.post("/jobs", data=fields | {"allowances.kerf": "4"})
    assert second.status_code == 409
    assert "has been changed since you read it" in second.text
    assert show_job(stocked.open_work, "bench")[1].allowances.kerf_mm == 3


def test_a_new_job_does_not_write_over_one_of_the_same_name(stocked: Yard, browser: TestClient) -> None:
    add_job(stocked.open_work, json.dumps(DOCUMENT).encode())
    answer = send(browser, id="bench")
    assert answer.status_code == 409
    assert "There is a job bench already" in answer.text


def test_a_file_is_kept_or_its_faults_told_with_their_places(stocked: Yard, browser: TestClient) -> None:
    token = token_in(browser.get("/jobs").text)
    good = ("job.json", json.dumps(DOCUMENT).encode(), "application/json")
    kept = browser.post("/jobs/file", data={"csrf": token}, files={"file": good})
    assert kept.headers["location"] == "/job/bench"
    assert json.loads(browser.get("/job/bench/job.json").text) == DOCUMENT

    bad = ("job.json", json.dumps(DOCUMENT | {"id": "other", "lenght": 5}).encode(), "application/json")
    refused = browser.post("/jobs/file", data={"csrf": token}, files={"file": bad})
    assert refused.status_code == 422
    assert "unknown key lenght" in refused.text
    assert browser.post("/jobs/file", data={"csrf": token}).status_code == 422
    assert [job.name for job in list_jobs(stocked.open_work)] == ["bench"]


def test_selecting_asks_with_its_wishes(stocked: Yard, browser: TestClient) -> None:
    add_job(stocked.open_work, json.dumps(DOCUMENT).encode())
    wishes = {"pin": "SG-0001:top", "forbid_more": "SG-0002, SG-0003", "prefer_more": "", "seconds": "7"}
    asked = post(browser, "/job/bench/select", **wishes)
    number = asked.headers["location"].rpartition("/")[2]
    assert browser.get(f"/api/errands/{number}").json()["wanted"] == {
        "job": "bench", "pin": ["SG-0001:top"], "forbid": ["SG-0002", "SG-0003"], "seconds": 7,
    }  # fmt: skip
    assert post(browser, "/job/none/select").status_code == 404
    assert post(browser, "/job/bench/select", seconds="soon").status_code == 422


def fields_of(page: str) -> dict[str, str]:
    """What a browser would send of the page's form, as it stands."""
    import re
    from html import unescape

    form = page.partition('action="/jobs">')[2].partition("</form>")[0]
    fields = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and value:
            fields[name[1]] = unescape(value[1])
    for name, options in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options) or re.search(r'value="([^"]*)"', options)
        assert chosen
        fields[name] = unescape(chosen[1])
    return fields
