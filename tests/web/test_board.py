"""The board's page: its map as plain forms, moisture against the air, its uses, its history."""

import json
import re
from datetime import UTC, date, datetime

import pytest
from fastapi.testclient import TestClient

from stockyard.records import Yard
from stockyard.services.board_moisture import board_moisture
from stockyard.services.board_uses import board_uses
from stockyard.services.climate_log import add_air
from stockyard.services.dispose_board import dispose_board
from stockyard.services.jobs import add_job
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.read_moisture import add_reading
from stockyard.timber.defect import DefectKind, Face
from stockyard.web.moisture_chart import moisture_chart
from tests.web.conftest import post

STAVES = {"staves": {"min": 2, "max": 4}, "stave_width": {"min": 70, "max": 160}, "show": "one"}
PANELS = (
    ("thin", 1200, 28, "spotted gum"),
    ("thick", 1200, 31, "spotted gum"),
    ("long", 2600, 20, "spotted gum"),
)
JOB = json.dumps(
    {
        "format": "stockyard.job/1",
        "id": "shelf",
        "allowances": {"face_planing": 2},
        "panels": [
            {"id": name, "length": length, "width": 300, "thickness": thick, "species": [wood], **STAVES}
            for name, length, thick, wood in (*PANELS, ("other", 900, 20, "blackbutt"))
        ],
    }
).encode()


def mark(browser: TestClient, number: str = "SG-0001") -> str:
    return browser.get(f"/api/boards/{number}").headers["etag"].strip('"')


def draw(browser: TestClient, **fields: str):
    given = {"kind": "crack", "face": "A", "shape": "line", "points": "100,40 400,44", "opening": "0.5"}
    return post(browser, "/board/SG-0001/defects", "/more", **{**given, "mark": mark(browser), **fields})


def test_a_flaw_is_drawn_changed_and_taken_off_by_plain_forms(browser: TestClient) -> None:
    assert draw(browser).headers["location"] == "/board/SG-0001#map"
    page = browser.get("/board/SG-0001?defect=1").text
    assert 'name="which" value="1"' in page
    assert 'data-flaw="1"' in page
    draw(browser, which="1", shape="box", points="50,10 80,30", kind="sound_knot", opening="")
    (one,) = browser.get("/api/boards/SG-0001/defects").json()["defects"]
    assert (one["kind"], one["version"]) == ("sound_knot", 2)
    assert one["outline"] == [[50, 10], [80, 10], [80, 30], [50, 30]]
    post(browser, "/board/SG-0001/defects/off", "/more", which="1", mark=mark(browser))
    assert browser.get("/api/boards/SG-0001/defects").json() == {"defects": []}


def test_a_form_with_faults_comes_back_as_it_was_filled_in(browser: TestClient) -> None:
    answer = draw(browser, points="100,40 9000,44", note="seen at noon")
    assert answer.status_code == 422
    assert "100,40 9000,44" in answer.text
    assert 'value="seen at noon"' in answer.text
    assert "line[1]" in answer.text
    unread = draw(browser, points="here and there")
    assert "pairs such as" in unread.text


def test_a_form_about_an_older_map_changes_nothing(browser: TestClient) -> None:
    older = mark(browser)
    draw(browser)
    assert draw(browser, mark=older).status_code == 412
    assert len(browser.get("/api/boards/SG-0001/defects").json()["defects"]) == 1


def test_both_faces_stand_in_one_frame_at_one_scale(browser: TestClient, stocked: Yard) -> None:
    add_defect(stocked.open_work, "SG-0001", Sketch(DefectKind.SPLIT, Face.BOTH, box=(0, 10, 200, 12)))
    add_defect(stocked.open_work, "SG-0001", Sketch(DefectKind.STAIN, Face.B, box=(500, 10, 600, 20)))
    svg = re.search(r'<svg id="faces".*?</svg>', browser.get("/board/SG-0001").text, re.DOTALL)
    assert svg
    groups = re.findall(r'<g class="face" data-face="(.)" transform="translate\(0 ([\d.]+)\)', svg[0])
    # Face A's edge 1 lies 180 mm down, the board's width; face B a width and a gap below it.
    (a, a_foot), (b, b_foot) = groups
    assert (a, b, float(a_foot)) == ("A", "B", 180)
    assert float(b_foot) > 2 * 180
    flaws = re.findall(r'class="flaw (\w+)" data-flaw="(\d)" d="([^"]+)"', svg[0])
    through, stain = "M0 10L200 10L200 12L0 12Z", "M500 10L600 10L600 20L500 20Z"
    assert flaws == [("weak", "1", through), ("weak", "1", through), ("sound", "2", stain)]
    assert "split through, stain face B" in svg[0]


def test_moisture_is_shown_against_the_months_of_the_shops_air(browser: TestClient, stocked: Yard) -> None:
    post(browser, "/board/SG-0001/moisture", "/more", raw="14.5", meter="pins", day="2026-02-03")
    told = browser.get("/api/boards/SG-0001/moisture").json()
    assert [each["raw_pct"] for each in told["readings"]] == [14.5]
    assert told["readiness"] is None
    assert "never logged" in told["why_not_judged"]

    for day in (datetime(2026, 1, 10, 12, tzinfo=UTC), datetime(2026, 2, 2, 12, tzinfo=UTC)):
        add_air(stocked.open_work, "shop", 20.0, 65.0, at=day, zone="Australia/Sydney")
    found = board_moisture(stocked.open_work, "SG-0001")
    # Air of 20 C and 65 % holds wood at 12 % (G. Wengert, woodweb.com). January lies before it.
    assert [(month.first, round(month.emc_pct, 0)) for month in found.emc] == [(date(2026, 2, 1), 12)]
    assert found.judged is not None
    chart = moisture_chart(found)
    assert chart.count('class="dot"') == 1
    assert "1 reading, from" in chart
    assert moisture_chart(board_moisture(stocked.open_work, "SG-0002")) == ""


def test_a_reading_is_written_down_through_json(browser: TestClient) -> None:
    kept = browser.post("/api/boards/SG-0001/moisture", json={"raw_pct": 11.0, "meter": "ovendry"})
    assert (kept.status_code, kept.json()["corrected_pct"]) == (201, 11.0)
    for raw in (0, -3, 1e9):
        assert browser.post("/api/boards/SG-0001/moisture", json={"raw_pct": raw}).status_code == 422


def test_uses_say_why_a_board_cannot_be_a_stave(stocked: Yard, browser: TestClient) -> None:
    add_job(stocked.open_work, JOB)
    why = {use.panel.panel: use.why_not for use in board_uses(stocked.open_work, "SG-0001")}
    # 2400 x 180 x 32 mm, and 2 mm are planed from each face.
    assert why == {
        "thin": "",
        "thick": "it leaves no 4 mm for planing both faces",
        "long": "it is 200 mm too short",
    }
    assert "it is 200 mm too short" in browser.get("/board/SG-0001").text


def test_the_grade_comes_after_the_page_or_is_asked_for(browser: TestClient) -> None:
    part = browser.get("/board/SG-0001/grade").text
    assert "By its map it grades " in part
    assert part.strip() in browser.get("/board/SG-0001?grade=1").text
    assert "By its map" not in browser.get("/board/SG-0001").text


def test_facts_are_corrected_by_whoever_saw_them(browser: TestClient) -> None:
    older = mark(browser)
    fields = {"width": "176", "cup": "2", "place": "rack 9", "note": ""}
    done = post(browser, "/board/SG-0001/facts", "/more", mark=older, **fields)
    assert done.status_code == 303
    board = browser.get("/api/boards/SG-0001").json()
    assert (board["width"], board["length"], board["place"], board["distortion"]["cup"]) == (
        176,
        2400,
        "rack 9",
        2,
    )
    assert post(browser, "/board/SG-0001/facts", "/more", mark=older, **fields).status_code == 412


def test_a_board_that_is_gone_is_looked_at_only(browser: TestClient, stocked: Yard) -> None:
    dispose_board(stocked.open_work, "SG-0001", reason="burnt")
    page = browser.get("/board/SG-0001").text
    assert "gone" in page
    assert 'id="draft"' not in page
    assert draw(browser).status_code == 422


def test_the_label_leads_back_to_the_page(browser: TestClient) -> None:
    label = browser.get("/board/SG-0001/label.pdf")
    assert (label.headers["content-type"], label.content[:5]) == ("application/pdf", b"%PDF-")


def test_the_page_tells_what_happened_and_who_came_of_whom(browser: TestClient, stocked: Yard) -> None:
    add_reading(stocked.open_work, "SG-0001", 12.0, meter="ovendry")
    draw(browser)
    page = browser.get("/board/SG-0001").text
    assert "docket 1 of Riverbend Mill" in page
    assert "defect 1 mapped (crack)" in page
    assert browser.get("/board/NONE-0001").status_code == 404


@pytest.mark.parametrize("path", ["/board/SG-0001/suggestions", "/board/SG-0001/moisture"])
def test_empty_forms_change_nothing(browser: TestClient, path: str) -> None:
    answer = post(browser, path, "/more", mark=mark(browser))
    assert answer.status_code == 422
