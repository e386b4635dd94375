"""A face photographed with the phone: corners shown and set right, kept through a lost connection, read."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from stockyard.records import open_yard, upgrade
from tests.services.photographs import SAMPLES, board_for, truth
from tests.web.in_browser.conftest import PHONE, served
from tests.web.in_browser.test_screens import TARGETS, overflow, violations

PICTURE = SAMPLES / "SG-0008-A.jpg"


@pytest.fixture
def rack(tmp_path: Path):
    """A yard with two boards of the samples' sizes, and a worker for its errands."""
    path = tmp_path / "yard.db"
    upgrade(path)
    with open_yard(path) as yard:
        boards = board_for(yard, "SG-0008-A"), board_for(yard, "SG-0001-A", docket="2")
    with served(path, at_work=True) as address:
        yield address, boards


def corners_shown(page: Page) -> list[list[float]]:
    """Where the corners stand, in pixels of the picture, as a screen reader is told."""
    names = [handle.get_attribute("aria-label") or "" for handle in page.locator("#corners .handle").all()]
    return [[float(n) for n in name.rpartition(":")[2].split(",")] for name in names]


def test_corners_are_found_shown_set_right_and_the_face_is_read(rack, phone: Page) -> None:
    address, (board, following) = rack
    phone.goto(f"{address}/photograph/{board}")
    phone.locator("#camera").set_input_files(PICTURE)
    expect(phone.locator("#corners .handle")).to_have_count(4, timeout=15_000)
    expect(phone.locator("#scale-word")).to_contain_text("mm per pixel")
    for (u, v), (true_u, true_v) in zip(corners_shown(phone), truth("SG-0008-A")["corners_px"], strict=True):
        assert (u, v) == (pytest.approx(true_u, abs=12), pytest.approx(true_v, abs=12))

    corner = phone.get_by_role("button", name="Corner 1, end 1, edge 1")
    corner.focus()
    expect(phone.locator(".glass")).to_be_visible()
    before = corners_shown(phone)[0]
    corner.press("ArrowRight")
    assert corners_shown(phone)[0][0] > before[0]
    expect(phone.locator("#scale-word")).to_have_text("By corners set by hand.")
    assert violations(phone) == []
    assert phone.evaluate(TARGETS) == []
    assert overflow(phone) <= 0

    phone.get_by_role("button", name=f"Keep, on to {following}").tap()
    expect(phone).to_have_url(f"{address}/photograph/{following}")
    sent = phone.locator("#uploads li")
    expect(sent).to_contain_text("kept, by corners set by hand", timeout=20_000)
    sent.get_by_role("link", name="Look at the board").tap()
    expect(phone.locator("#faces image")).to_have_count(1)
    expect(phone.locator("#suggestions")).to_contain_text("Face A, photo 1")


def test_a_lost_connection_loses_nothing(rack, chromium: Browser) -> None:
    address, (board, _) = rack
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    phone = context.new_page()
    phone.goto(f"{address}/photograph/{board}")
    phone.wait_for_load_state("networkidle")
    context.set_offline(True)

    phone.locator("#chosen").set_input_files(PICTURE)
    expect(phone.locator("#scale-word")).to_contain_text("No connection")
    phone.get_by_role("button", name="Keep", exact=True).tap()
    sent = phone.locator("#uploads li")
    expect(sent).to_contain_text("waits for the connection")
    context.set_offline(False)
    phone.reload()
    expect(sent).to_contain_text(re.compile("kept, by its"), timeout=30_000)
    told = phone.evaluate(f"fetch('/api/boards/{board}/photos').then((a) => a.json())")
    assert [(each["photo"], each["face"], each["read"]) for each in told["photos"]] == [(1, "A", True)]
    sent.get_by_role("button").tap()
    expect(phone.locator("#uploads")).to_be_hidden()
    context.close()


def test_several_pictures_of_a_long_board_are_put_in_order(rack, phone: Page) -> None:
    address, (board, _) = rack
    phone.goto(f"{address}/photograph/{board}")
    phone.locator("#chosen").set_input_files([SAMPLES / "demo" / f"JA-0008-A{n}.jpg" for n in (2, 1, 3)])
    shots = phone.locator("#several img")
    expect(shots).to_have_count(3)
    phone.get_by_role("button", name="Nearer end 1: JA-0008-A1.jpg").tap()
    phone.get_by_role("button", name="Without it: JA-0008-A3.jpg").tap()
    expect(shots).to_have_count(2)
    assert [each.get_attribute("alt") for each in shots.all()] == ["JA-0008-A1.jpg", "JA-0008-A2.jpg"]
    assert violations(phone) == []


def test_what_cannot_be_put_to_scale_comes_back_with_its_corners(rack, phone: Page, tmp_path: Path) -> None:
    address, (_, other) = rack
    phone.goto(f"{address}/photograph/{other}")
    # A picture of another board: its proportions are not those of this one.
    phone.locator("#chosen").set_input_files(PICTURE)
    expect(phone.locator("#corners .handle")).to_have_count(4, timeout=15_000)
    expect(phone.locator("#scale-word")).to_contain_text("proportions")
    phone.get_by_role("button", name="Keep", exact=True).tap()
    sent = phone.locator("#uploads li")
    expect(sent).to_contain_text("needs your hand", timeout=20_000)
    sent.get_by_role("link", name="Set its corners").tap()
    expect(phone.locator("#corners .handle")).to_have_count(4, timeout=15_000)
    phone.locator("#uploads").get_by_role("button", name=re.compile("^Drop it")).tap()
    expect(phone.locator("#uploads")).to_be_hidden()
