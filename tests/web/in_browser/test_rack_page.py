"""The rack under a thumb: it answers as one types, and scrolls further by itself."""

from pathlib import Path

from playwright.sync_api import Page, expect

from stockyard.records import open_yard, upgrade
from tests.services.yards import receive
from tests.web.in_browser.conftest import served


def test_the_list_answers_as_one_types(demo: str, phone: Page) -> None:
    phone.goto(f"{demo}/rack")
    expect(phone.locator("#totals b")).to_have_text("60 pieces")

    phone.get_by_label("Number, or any word of it").fill("jarrah")

    expect(phone.locator("#totals b")).to_have_text("12 pieces")
    expect(phone.locator(".rack .number").first).to_have_text("JA-0001")
    assert phone.url.endswith("/rack?words=jarrah")


def test_it_works_as_a_plain_form_too(demo: str, desk: Page) -> None:
    context = desk.context.browser.new_context(java_script_enabled=False)  # type: ignore[union-attr]
    page = context.new_page()
    page.goto(f"{demo}/rack")
    page.get_by_label("Number, or any word of it").fill("jarrah")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#totals b")).to_have_text("12 pieces")
    context.close()


def test_a_long_rack_scrolls_without_holding_all_of_it(tmp_path: Path, phone: Page) -> None:
    path = tmp_path / "yard.db"
    upgrade(path)
    with open_yard(path) as yard:
        receive(yard, *(f"jarrah,{1800 + n},100,25,20.00" for n in range(900)))
    with served(path) as address:
        phone.goto(f"{address}/rack")
        expect(phone.locator("#totals b")).to_have_text("900 pieces")
        for _ in range(60):
            phone.evaluate("window.scrollTo(0, document.body.scrollHeight)")
            phone.wait_for_timeout(60)
            if phone.get_by_text("JA-0900").count():
                break
        expect(phone.get_by_text("JA-0900")).to_have_count(1)
        assert phone.locator(".rack li").count() <= 600

        phone.evaluate("window.scrollTo(0, 0)")
        expect(phone.get_by_text("JA-0001", exact=True)).to_be_visible()


def test_a_photographed_board_shows_its_photo_under_its_marks(demo: str, phone: Page) -> None:
    phone.goto(f"{demo}/rack?words=sg-0003")
    picture = phone.locator(".rack .photographed img")
    picture.scroll_into_view_if_needed()
    phone.wait_for_function("document.querySelector('.rack .photographed img').naturalWidth > 100")
    photo, marks = picture.bounding_box(), phone.locator(".rack .photographed svg").bounding_box()
    assert photo is not None
    assert marks is not None
    for side in ("x", "y", "width", "height"):
        assert abs(photo[side] - marks[side]) <= 1.0, side


def test_today_counts_the_suggestions_that_wait(demo: str, phone: Page) -> None:
    phone.goto(f"{demo}/")
    told = phone.evaluate("fetch('/api/boards/SG-0003/suggestions').then((answer) => answer.json())")
    assert told["suggestions"]
    row = phone.get_by_role("link", name="SG-0003")
    expect(row).to_contain_text(f"{len(told['suggestions'])} to confirm")
