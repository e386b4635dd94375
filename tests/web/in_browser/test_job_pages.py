"""A job in the hand: entered, selected for, looked at, promised and cut, at phone width with touch."""

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.in_browser.conftest import PHONE
from tests.web.in_browser.test_screens import TARGETS, overflow, violations

SIZE = """async (image) => {
  const bitmap = await createImageBitmap(await (await fetch(image.href.baseVal)).blob());
  return [bitmap.width, bitmap.height];
}"""


def sound(page: Page, name: str) -> None:
    """Nothing is wrong for an accessibility engine, a gloved thumb, or the width of the screen."""
    if folder := os.environ.get("STOCKYARD_SHOTS"):
        wide = page.viewport_size["width"] if page.viewport_size else 0
        page.screenshot(path=Path(folder) / f"{name}-{wide}.png", full_page=True)
    assert violations(page) == []
    assert page.evaluate(TARGETS) == []
    assert overflow(page) <= 0


@pytest.fixture
def shelf(own_demo: str, phone: Page) -> Page:
    """The page of a small job, just entered."""
    phone.goto(f"{own_demo}/jobs")
    sound(phone, "jobs")
    phone.get_by_role("link", name="New job").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("A new job")
    sound(phone, "job-form")
    fill(phone, thickness="20")
    phone.get_by_role("button", name="Keep the job").tap()
    expect(phone.get_by_role("heading", level=1)).to_have_text("wall-shelf")
    return phone


def fill(phone: Page, thickness: str) -> None:
    """Fill in a job of one panel."""
    phone.get_by_label("Name of the job").fill("wall-shelf")
    part = phone.get_by_role("group", name="Panel 1")
    for label, value in (
        ("Name", "top"), ("Length", "700"), ("Width", "160"), ("Thickness", thickness),
        ("Species", "spotted gum"),
        ("Stave width, least", "60"), ("Stave width, most", "160"),
    ):  # fmt: skip
        part.get_by_role("textbox", name=re.compile(f"^{label}")).or_(
            part.get_by_role("combobox", name=re.compile(f"^{label}"))
        ).first.fill(value)
    for number, face in (("1", "show"), ("2", "back")):
        rule = phone.get_by_role("group", name=f"Rule {number}")
        rule.get_by_label("Kind").select_option("sound_knot")
        rule.get_by_label("On the").select_option(face)
        rule.get_by_label("Do", exact=True).select_option("accept")


@pytest.fixture
def careless(chromium: Browser) -> Iterator[Page]:
    """A phone on which the browser may note that something was refused."""
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    yield context.new_page()
    context.close()


def test_what_is_wrong_with_a_job_is_told_at_its_field(demo: str, careless: Page) -> None:
    careless.goto(f"{demo}/jobs/new")
    fill(careless, thickness="two")
    careless.get_by_role("button", name="Keep the job").tap()
    wrong = careless.get_by_label("Thickness")
    expect(wrong).to_have_attribute("aria-invalid", "true")
    expect(wrong).to_have_accessible_description(re.compile("number above 0.*two"))
    expect(careless.get_by_label("Name of the job")).to_have_value("wall-shelf")
    sound(careless, "job-form-wrong")


def test_a_job_goes_from_the_form_to_the_cut_boards_on_a_phone(shelf: Page) -> None:
    shelf.get_by_text("With wishes").tap()
    shelf.get_by_label("Boards that must be used").fill("SG-0003:top")
    shelf.get_by_label("Search for at most").fill("8")
    sound(shelf, "job")
    shelf.get_by_role("button", name="Select", exact=True).tap()
    expect(shelf.get_by_text("Best so far")).to_be_visible()
    expect(shelf.get_by_role("button", name="Stop and keep the best")).to_be_visible()
    watched = shelf.url
    expect(shelf.get_by_role("heading", level=1)).to_have_text(re.compile("^Plan "), timeout=30_000)

    # The panel is shown from the picture of a board that was photographed, each stave as large as it is.
    laid = shelf.locator(".sides figure").first.locator("svg image").first
    wide, high = laid.evaluate(SIZE)
    box = laid.evaluate("(each) => [each.width.baseVal.value, each.height.baseVal.value]")
    assert wide / high == pytest.approx(box[0] / box[1], rel=0.03)
    sound(shelf, "plan")
    shelf.get_by_label("Show glue lines, joints and flaws").uncheck()
    expect(shelf.locator(".look .marks").first).to_be_hidden()
    shelf.locator(".cuts summary").first.tap()
    expect(shelf.locator(".cuts img").first).to_have_js_property("complete", True)
    sound(shelf, "plan-cuts")

    shelf.get_by_role("button", name="Promise its boards to it").tap()
    expect(shelf.get_by_role("status")).to_contain_text("Promised")
    shelf.get_by_role("link", name="Book the cutting").tap()
    shelf.get_by_role("radio", name="Spoiled").first.check()
    planned = shelf.get_by_label("Width as cut").nth(1)
    as_cut = int(planned.get_attribute("placeholder") or 0) - 2
    planned.fill(f"{as_cut}")
    shelf.get_by_label("Put in").first.fill("offcut bin 3")
    sound(shelf, "cut")
    shelf.get_by_role("button", name="Book as cut").tap()
    expect(shelf.get_by_role("status")).to_contain_text("1 spoiled")
    stave = shelf.locator("#pieces .rows > li").first
    expect(stave).to_contain_text(f"× {as_cut} ×")
    expect(shelf.get_by_label(re.compile("stands in$")).first).to_have_value("offcut bin 3")
    sound(shelf, "plan-cut")
    shelf.get_by_label("Search for at most").fill("8")
    shelf.get_by_role("button", name="Plan again").tap()
    expect(shelf.get_by_role("heading", name="What planning again changed")).to_be_visible(timeout=30_000)
    sound(shelf, "again")
    shelf.goto(watched)
    expect(shelf.get_by_role("link", name="Look at the plan")).to_be_visible()
    sound(shelf, "select")


def test_a_job_is_asked_about_and_chosen_for_at_the_bench(shelf: Page, desk: Page) -> None:
    address = shelf.url
    desk.goto(address)
    shorter = "(form) => form.insertAdjacentHTML('beforeend', '<input type=hidden name=seconds value=6>')"
    desk.locator("form[action$='/suits']").evaluate(shorter)
    desk.get_by_role("button", name="Which boards suit top?").click()
    expect(desk.get_by_role("heading", name="Boards for top")).to_be_visible(timeout=40_000)
    sound(desk, "suits")
    shelf.goto(desk.url)
    sound(shelf, "suits")

    desk.goto(address)
    desk.get_by_text("With wishes").click()
    desk.get_by_label("Search for at most").fill("6")
    desk.get_by_role("button", name="Offer several plans").press("Enter")
    expect(desk.get_by_role("heading", name="side by side")).to_be_visible(timeout=40_000)
    assert desk.get_by_role("link", name=re.compile("^Look at plan")).count() >= 1
    sound(desk, "choices")
    shelf.goto(desk.url)
    sound(shelf, "choices")

    desk.get_by_role("link", name=re.compile("^Look at plan")).first.press("Enter")
    expect(desk.get_by_role("button", name="Change places")).to_be_visible()
    sound(desk, "plan")


def test_every_sheet_is_offered_with_what_is_true_to_scale(own_demo: str, phone: Page, desk: Page) -> None:
    for page in (phone, desk):
        page.goto(f"{own_demo}/sheets")
        expect(page.get_by_text("states its scale")).to_be_visible()
        sound(page, "sheets")
