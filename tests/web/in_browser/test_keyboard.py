"""The main path with a keyboard and nothing else: where one is can be seen, and everything can be reached."""

import re

from playwright.sync_api import Page, expect

from tests.web.in_browser.test_screens import violations
from tests.web.test_errands import JOB

FOCUSED = """() => { const at = document.activeElement;
  const label = at.labels?.length ? at.labels[0].textContent : (at.ariaLabel || at.textContent);
  const look = getComputedStyle(at);
  const seen = look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2;
  const name = label.replace(/\\s+/g, " ").trim();
  return { name, seen, tag: at.tagName, html: at.outerHTML.slice(0, 90) }; }"""


def tab_to(page: Page, name: str, most: int = 150) -> None:
    """Go on with Tab until what begins with that name has the focus; where it stands is always seen."""
    unseen = []
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(FOCUSED)
        if not at["seen"] and at["tag"] != "BODY":  # the page itself comes after its last link
            unseen.append(at["html"])
        if at["name"].startswith(name):
            assert unseen == []
            return
    raise AssertionError(f"{name} is not reached with Tab")


def test_from_the_rack_to_promised_boards(own_demo: str, desk: Page) -> None:
    desk.goto(f"{own_demo}/")
    kept = desk.evaluate(
        """(job) => fetch("/api/jobs", { method: "POST", body: job,
             headers: { "Content-Type": "application/json" } }).then((answer) => answer.status)""",
        JOB.decode(),
    )
    assert kept == 201

    desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")  # over the navigation
    expect(desk.locator("main")).to_be_focused()
    desk.goto(f"{own_demo}/")
    tab_to(desk, "Rack")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Rack")
    tab_to(desk, "Number, or any word of it")
    desk.keyboard.type("sg-0003")
    expect(desk.locator("#totals b")).to_have_text("1 piece")
    tab_to(desk, "SG-0003")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile("/board/SG-0003$"))

    tab_to(desk, "Jobs")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Jobs")
    tab_to(desk, "shelf")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_contain_text("shelf")
    tab_to(desk, "Select")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_have_text(re.compile("^Plan "), timeout=60_000)
    tab_to(desk, "Promise its boards to it")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("status").first).to_contain_text("Promised")

    tab_to(desk, "Today")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Promised, waiting for the saw")).to_be_visible()


def test_an_errand_is_watched_and_stopped_with_the_best_so_far(own_demo: str, phone: Page) -> None:
    phone.goto(f"{own_demo}/")
    number = phone.evaluate(
        """() => fetch("/api/jobs/linen-cabinet/select", { method: "POST", body: '{"seconds": 120}',
             headers: { "Content-Type": "application/json" } })
             .then((answer) => answer.json()).then((errand) => errand.id)"""
    )
    phone.goto(f"{own_demo}/errand/{number}")
    expect(phone.get_by_role("heading", level=1)).to_have_text("Selecting boards")
    expect(phone.get_by_text("You may leave this page; the work goes on.")).to_be_visible()
    assert violations(phone) == []
    phone.get_by_role("button", name="Stop and keep the best").tap()
    leads_on = phone.get_by_role("link", name="Look at the plan")
    expect(leads_on.or_(phone.get_by_text(re.compile("^Plan \\d")).first)).to_be_visible(timeout=60_000)
    told = phone.evaluate(f"fetch('/api/errands/{number}').then((answer) => answer.json())")
    assert (told["state"], told["stop"]) == ("done", "keep")
