"""A delivery booked from the app: board by board with big keys, and from a tally mended in the page."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from stockyard.records import open_yard, upgrade
from tests.services.yards import receive
from tests.web.in_browser.conftest import served
from tests.web.in_browser.test_screens import TARGETS, overflow, violations

WRONG = """Species,Length (mm),Width (mm),Thickness (mm),Qty,Price each
spotted gum,2400,180,32,2,48.00
spotted gum,two metres,150,32,1,51.00
jarra,1800,140,25,1,30.00
"""


@pytest.fixture
def yard(tmp_path: Path):
    path = tmp_path / "yard.db"
    upgrade(path)
    with open_yard(path) as opened:
        receive(opened, "spotted gum,2400,180,32,48.00", "jarrah,1800,140,25,30.00")
    with served(path) as address:
        yield address


def press(page: Page, keys: str) -> None:
    for key in keys:
        page.locator("#keys").get_by_role("button", name=key, exact=True).tap()


def test_boards_are_entered_with_big_keys_and_booked(yard: str, phone: Page) -> None:
    phone.goto(f"{yard}/delivery/by-hand")
    phone.get_by_label("Species").fill("spotted gum")
    nxt = phone.get_by_role("button", name="Next field")
    for field, keys in (("Length", "2400"), ("Width", "180"), ("Thickness", "32")):
        expect(phone.get_by_label(field)).to_have_class("chosen")
        press(phone, keys)
        nxt.tap()
    press(phone, "3")
    nxt.tap()
    press(phone, "48.5")
    add = phone.get_by_role("button", name="Add, next board")
    add.tap()
    expect(phone.locator('[data-sum="pieces"]')).to_have_text("3")
    # Width, thickness and price are kept; a first figure replaces what stands in the length.
    press(phone, "3000")
    add.tap()
    assert violations(phone) == []
    assert phone.evaluate(TARGETS) == []
    assert overflow(phone) <= 0
    sums = {
        each: phone.locator(f'[data-sum="{each}"]').inner_text() for each in ("pieces", "m3", "run", "money")
    }
    # 3 x 2.4 m + 3.0 m of 180 x 32 mm, at 48.50 each.
    assert sums == {"pieces": "4", "m3": "0.059 m³", "run": "10.2 m", "money": "194.00"}

    phone.reload()
    expect(phone.locator("#entered li")).to_have_count(2)
    phone.get_by_role("button", name="To the docket").tap()
    phone.get_by_label("Supplier").fill("Riverbend Mill")
    phone.get_by_label("Docket", exact=True).fill("88")
    phone.get_by_role("button", name="Book it").tap()
    expect(phone.locator(".said")).to_have_text("4 boards of docket 88 are in the books.")
    expect(phone.locator("#totals b")).to_have_text("4 pieces")
    phone.goto(f"{yard}/delivery/by-hand")
    expect(phone.locator("#entered li")).to_have_count(0)


def test_a_tally_is_mended_in_the_page_and_booked(yard: str, desk: Page) -> None:
    desk.goto(f"{yard}/delivery")
    desk.get_by_label("Or its rows, pasted").fill(WRONG)
    desk.get_by_role("combobox", name="Supplier").fill("Riverbend Mill")
    desk.get_by_label("Docket", exact=True).fill("99")
    desk.get_by_role("button", name="See how it is read").click()

    wrong = desk.locator('.mend [aria-invalid="true"]')
    expect(wrong).to_have_count(2)
    assert [each.input_value() for each in wrong.all()] == ["two metres", "jarra"]
    assert violations(desk) == []
    wrong.nth(0).fill("2000")
    desk.get_by_label("Row 4, cell 1").fill("jarrah")
    desk.get_by_role("button", name="Read it again").click()
    desk.get_by_role("button", name="Book 4 boards").click()
    expect(desk.locator("#totals b")).to_have_text("4 pieces")
    expect(desk.locator(".rack")).to_contain_text("2000 × 150 × 32 mm")
