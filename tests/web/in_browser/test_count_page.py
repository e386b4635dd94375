"""A rack counted with the phone: numbers typed and photographed, kept while offline, looked at, booked."""

import io
import re
from pathlib import Path

import segno
from playwright.sync_api import Browser, Page, expect

from tests.web.in_browser.conftest import PHONE
from tests.web.in_browser.test_screens import TARGETS, overflow, violations

EYE = """window.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect() { return [{ rawValue: "NUMBER" }]; }
};
Object.defineProperty(navigator, "mediaDevices", { value: { getUserMedia: async () =>
  document.createElement("canvas").captureStream() } });"""
"""A browser with a reader of codes, and a camera that sees one label."""


def begin(page: Page, address: str) -> str:
    """Begin a count of the first place there is; returns a board's number that stands there."""
    page.goto(f"{address}/count")
    place = page.get_by_label("Place").input_value()
    page.get_by_role("button", name="Begin").click()
    expect(page).to_have_url(re.compile("/count/1$"))
    told = page.evaluate(f"fetch('/api/boards?place={place}').then((a) => a.json())")
    return str(told["boards"][0]["id"])


def test_numbers_are_typed_photographed_and_booked(own_demo: str, phone: Page, tmp_path: Path) -> None:
    first = begin(phone, own_demo)
    others = [each for each in phone.locator(".finding .number").all_text_contents() if each != first]
    phone.get_by_label("Numbers, typed").fill(first.lower())
    phone.get_by_label("Numbers, typed").press("Enter")
    expect(phone.locator("#count-word")).to_have_text(f"{first}: counted.")
    expect(phone.locator("#so-far dd").nth(1)).to_have_text("1")

    made = io.BytesIO()
    segno.make(others[0], error="q", micro=False).save(made, kind="png", scale=10, border=4)
    phone.get_by_label("Or a picture of the labels").set_input_files(
        {"name": "rack.png", "mimeType": "image/png", "buffer": made.getvalue()}
    )
    expect(phone.locator("#count-word")).to_have_text(f"{others[0]}: counted.")
    expect(phone.locator("#so-far dd").nth(1)).to_have_text("2")
    assert violations(phone) == []
    assert phone.evaluate(TARGETS) == []
    assert overflow(phone) <= 0

    phone.get_by_label("Numbers, typed").fill("XX-0001 " + " ".join(others))
    phone.get_by_role("button", name="Count them").tap()
    expect(phone.locator("#count-word")).to_have_text("XX-0001: counted, look at it below.")
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.get_by_role("button", name="Book the differences").tap()
    expect(phone.get_by_role("status").first).to_have_text("Booked, with 0 pieces written off as missing.")


def test_what_is_read_without_a_connection_is_sent_later(own_demo: str, chromium: Browser) -> None:
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    phone = context.new_page()
    first = begin(phone, own_demo)
    context.set_offline(True)
    phone.get_by_label("Numbers, typed").fill(first)
    phone.get_by_label("Numbers, typed").press("Enter")
    expect(phone.locator("#count-word")).to_contain_text("is kept here and sent later")
    context.set_offline(False)
    expect(phone.locator("#count-word")).to_have_text(f"{first}: counted.", timeout=12_000)
    expect(phone.locator("#so-far dd").nth(1)).to_have_text("1")
    context.close()


def test_a_camera_that_reads_codes_is_used_where_there_is_one(own_demo: str, chromium: Browser) -> None:
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    phone = context.new_page()
    first = begin(phone, own_demo)
    phone.add_init_script(EYE.replace("NUMBER", first))
    phone.reload()
    phone.get_by_role("button", name="Scan with the camera").tap()
    expect(phone.locator("#count-word")).to_have_text(f"{first}: counted.")
    expect(phone.locator("#so-far dd").nth(1)).to_have_text("1")
    phone.get_by_role("button", name="Stop scanning").tap()
    expect(phone.locator("#eye")).to_be_hidden()
    context.close()
