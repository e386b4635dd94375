"""Every screen at both widths, in light and dark: nothing an accessibility engine finds wrong, nothing cut
off, and every target large enough for a gloved thumb.
"""

import os
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.web.in_browser.screens import SCREENS

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}

TARGETS = """() => [...document.querySelectorAll("a, button, input, select, textarea, summary")]
  .filter((each) => each.checkVisibility() && !each.closest(".drawing, p, td, dd, .skip")
    && !(each.matches("input") && each.closest("label")))
  .map((each) => ({ box: each.getBoundingClientRect(), html: each.outerHTML.slice(0, 90) }))
  .filter(({ box }) => box.width > 0 && (box.height < 43.5 || box.width < 43.5))
  .map(({ box, html }) => `${box.width.toFixed(0)} x ${box.height.toFixed(0)}: ${html}`)"""


@pytest.mark.parametrize("path", SCREENS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_phone(demo: str, phone: Page, path: str, scheme: str) -> None:
    phone.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    _visit(phone, demo, path)
    _keep(phone, path, f"390-{scheme}")

    assert violations(phone) == []
    assert phone.evaluate(TARGETS) == []
    assert overflow(phone) <= 0


@pytest.mark.parametrize("path", SCREENS)
def test_at_the_desk(demo: str, desk: Page, path: str) -> None:
    _visit(desk, demo, path)
    _keep(desk, path, "1440-light")

    assert violations(desk) == []
    assert overflow(desk) <= 0


def test_the_engine_finds_what_is_wrong(desk: Page, demo: str) -> None:
    desk.goto(f"{demo}/more")
    desk.evaluate("document.querySelector('label').remove()")

    assert [each.partition(":")[0] for each in violations(desk)] == ["select-name"]


def violations(page: Page) -> list[str]:
    """What the accessibility engine finds wrong, each with where."""
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{each['id']}: {node['html'][:120]}" for each in found for node in each["nodes"]]


def overflow(page: Page) -> int:
    """How many pixels the page is wider than the screen."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def _visit(page: Page, address: str, path: str) -> None:
    answer = page.goto(f"{address}{path}")
    assert answer is not None
    assert answer.status == 200
    page.wait_for_load_state("networkidle")


def _keep(page: Page, path: str, how: str) -> None:
    if folder := os.environ.get("STOCKYARD_SHOTS"):
        name = re.sub(r"\W+", "-", path).strip("-") or "today"
        page.screenshot(path=Path(folder) / f"{name}-{how}.png")
