"""Flaws drawn on a board's faces: by finger, mouse and keys, taken back, and by two people at once."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.web.in_browser.conftest import DESK, PHONE
from tests.web.in_browser.test_screens import TARGETS, overflow, violations

BOARD = "SG-0001"


def map_of(page: Page, board: str = BOARD) -> list[dict]:
    """A board's map, by the JSON interface."""
    return page.evaluate(f"fetch('/api/boards/{board}/defects').then((a) => a.json())")["defects"]


def open_board(page: Page, address: str, board: str = BOARD) -> None:
    page.goto(f"{address}/board/{board}")
    expect(page.get_by_role("button", name="Crack line")).to_be_visible()


def window_of(page: Page) -> dict:
    page.locator(".faces").scroll_into_view_if_needed()
    box = page.locator(".faces").bounding_box()
    assert box
    return dict(box)


def board_point(page: Page, x: float, y: float, face: str = "A") -> tuple[float, float]:
    """Where a point of the board shows on the screen, by the drawing's own matrix."""
    return tuple(
        page.evaluate(
            """([face, x, y]) => {
                const group = document.querySelector(`#faces .face[data-face="${face}"]`);
                const at = new DOMPoint(x, y).matrixTransform(group.getScreenCTM());
                return [at.x, at.y];
            }""",
            [face, x, y],
        )
    )


class Fingers:
    """Fingers on a phone's glass, several if need be."""

    def __init__(self, page: Page) -> None:
        self._session = page.context.new_cdp_session(page)

    def touch(self, kind: str, *points: tuple[float, float]) -> None:
        points_ = [{"x": x, "y": y, "id": at} for at, (x, y) in enumerate(points)]
        self._session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points_})


@pytest.fixture
def two_desks(chromium: Browser) -> Iterator[tuple[Page, Page]]:
    contexts = [chromium.new_context(viewport=DESK) for _ in range(2)]
    yield contexts[0].new_page(), contexts[1].new_page()
    for context in contexts:
        context.close()


def test_a_crack_is_drawn_by_touch_on_a_phone(own_demo: str, phone: Page) -> None:
    open_board(phone, own_demo)
    before = len(map_of(phone))
    phone.get_by_role("button", name="Crack line").tap()
    window_of(phone)

    fingers = Fingers(phone)
    start, end = board_point(phone, 100, 60), board_point(phone, 300, 66)
    fingers.touch("touchStart", start)
    for step in range(1, 9):
        fingers.touch("touchMove", *[tuple(a + (b - a) * step / 8 for a, b in zip(start, end, strict=True))])
    fingers.touch("touchEnd")
    phone.get_by_label("Opening").fill("0.6")
    phone.get_by_label("What it is").select_option("split")
    assert violations(phone) == []
    assert phone.evaluate(TARGETS) == []
    assert overflow(phone) <= 0
    phone.get_by_role("button", name="Keep it").tap()
    expect(phone.locator("#map-word")).to_contain_text("On the map")

    added = map_of(phone)[-1]
    assert len(map_of(phone)) == before + 1
    assert (added["kind"], added["face"], added["opening"]) == ("split", "A", 0.6)
    xs, ys = [x for x, _ in added["outline"]], [y for _, y in added["outline"]]
    # A finger is put down to a pixel: two of them, at what a pixel is here.
    assert min(xs) == pytest.approx(100, abs=4)
    assert max(xs) == pytest.approx(300, abs=4)
    assert min(ys) == pytest.approx(59.7, abs=3)
    assert max(ys) == pytest.approx(66.3, abs=3)


def test_a_flaw_is_moved_as_a_whole_by_the_mouse_and_stays_on_the_board(own_demo: str, desk: Page) -> None:
    open_board(desk, own_demo, "SG-0003")
    before = next(each for each in map_of(desk, "SG-0003") if each["kind"] == "sound_knot")
    own = before["id"].rpartition("/")[2]
    desk.locator(f'#flaws a[data-flaw="{own}"]').click()
    xs, ys = zip(*before["outline"], strict=True)
    middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    desk.mouse.move(*board_point(desk, *middle, before["face"]))
    desk.mouse.down()
    desk.mouse.move(*board_point(desk, middle[0] + 10, middle[1] + 1000, before["face"]), steps=5)
    desk.mouse.up()
    desk.get_by_role("button", name="Keep the change").click()
    expect(desk.locator("#map-word")).to_contain_text("On the map")
    after = next(each for each in map_of(desk, "SG-0003") if each["id"] == before["id"])
    moved = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(before["outline"], after["outline"], strict=True)]
    # To the edge of a board 190 mm wide, and no further; every point by the same, to a tenth as drawn.
    assert [x for x, _ in moved] == pytest.approx([10] * len(moved), abs=0.5)
    assert max(y for _, y in after["outline"]) == pytest.approx(190, abs=0.1)
    assert [y for _, y in moved] == pytest.approx([190 - max(ys)] * len(moved), abs=0.2)


def test_two_fingers_look_nearer_and_draw_nothing(own_demo: str, phone: Page) -> None:
    open_board(phone, own_demo)
    phone.get_by_role("button", name="Crack line").tap()
    box = window_of(phone)
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    wide = float(phone.locator("#faces").get_attribute("viewBox").split()[2])

    fingers = Fingers(phone)
    fingers.touch("touchStart", (middle[0] - 20, middle[1]))
    fingers.touch("touchStart", (middle[0] - 20, middle[1]), (middle[0] + 20, middle[1]))
    fingers.touch("touchMove", (middle[0] - 60, middle[1]), (middle[0] + 60, middle[1]))
    fingers.touch("touchEnd")

    nearer = float(phone.locator("#faces").get_attribute("viewBox").split()[2])
    assert nearer == pytest.approx(wide / 3, rel=0.1)
    assert phone.locator(".draft .handle").count() == 0


def test_a_corner_is_moved_by_keys_and_put_back(own_demo: str, desk: Page) -> None:
    open_board(desk, own_demo)
    desk.get_by_role("button", name="Box").click()
    window_of(desk)
    desk.mouse.move(*board_point(desk, 400, 50))
    desk.mouse.down()
    desk.mouse.move(*board_point(desk, 600, 110), steps=4)
    desk.mouse.up()
    desk.get_by_role("button", name="Put on the map").click()
    expect(desk.locator("#map-word")).to_contain_text("On the map")
    drawn = map_of(desk)[-1]
    own = drawn["id"].rpartition("/")[2]
    desk.locator(f'#flaws a[data-flaw="{own}"]').press("Enter")
    corner = desk.get_by_role("button", name=re.compile("^Point 1:"))
    corner.focus()
    for _ in range(3):
        corner.press("ArrowRight")
    corner.press("Shift+ArrowUp")
    x, y = drawn["outline"][0]
    expect(corner).to_have_accessible_name(f"Point 1: {x + 3:g}, {y + 10:g} mm")

    corner.press("Control+z")
    expect(corner).to_have_accessible_name(f"Point 1: {x + 3:g}, {y:g} mm")
    desk.get_by_role("button", name="Keep the change").press("Enter")
    expect(desk.locator("#map-word")).to_contain_text("On the map")
    changed = map_of(desk)[-1]
    assert changed["outline"][0] == [x + 3, y]
    assert (changed["id"], changed["version"]) == (drawn["id"], 2)

    desk.get_by_role("button", name="Undo").click()
    expect(desk.locator("#map-word")).to_have_text("Undone")
    assert map_of(desk)[-1]["outline"] == drawn["outline"]
    desk.get_by_role("button", name="Undo").click()
    expect(desk.locator(f'#flaws a[data-flaw="{own}"]')).to_have_count(0)


def test_a_flaw_is_drawn_by_keys_alone_and_held_to_the_board(own_demo: str, desk: Page) -> None:
    open_board(desk, own_demo)
    desk.get_by_role("button", name="Outline").press("Enter")
    face = desk.locator(".faces")
    face.focus()
    face.press("f")
    face.press("f")
    face.press("ArrowLeft")
    for _ in range(12):
        face.press("Shift+ArrowUp")
    face.press("Enter")
    for _ in range(4):
        face.press("Shift+ArrowRight")
    face.press("Enter")
    for _ in range(3):
        face.press("Shift+ArrowDown")
    face.press("Enter")
    desk.get_by_label("Kind").select_option("bark_inclusion")
    desk.get_by_role("button", name="Put on the map").press("Enter")
    expect(desk.locator("#map-word")).to_contain_text("On the map")

    added = map_of(desk)[-1]
    (x0, y0), (x1, y1), (x2, y2) = added["outline"]
    assert added["kind"] == "bark_inclusion"
    assert y0 == y1 == 180  # the board's own width: the cross cannot leave it
    assert (x1 - x0, x2 - x1, y1 - y2) == (40, 0, 30)


def test_drawing_near_an_edge_keeps_to_it(own_demo: str, desk: Page) -> None:
    open_board(desk, own_demo)
    desk.get_by_role("button", name="Box").click()
    window_of(desk)
    x0, y0 = board_point(desk, 0, 0)
    x1, y1 = board_point(desk, 150, 30)
    desk.mouse.move(x0 + 3, y0 - 3)
    desk.mouse.down()
    desk.mouse.move(x1, y1, steps=4)
    desk.mouse.up()
    assert desk.get_by_label("Points").input_value().split()[0] == "0,0"


def test_the_second_of_two_sees_what_the_first_did_and_keeps_both(
    own_demo: str, two_desks: tuple[Page, Page]
) -> None:
    first, second = two_desks
    for page in two_desks:
        open_board(page, own_demo)
    before = len(map_of(first))
    for page, points in ((first, "100,20 300,24"), (second, "500,90 700,94")):
        page.get_by_label("Points").fill(points)
        page.get_by_label("Points").blur()
    first.get_by_role("button", name="Put on the map").click()
    expect(first.locator("#map-word")).to_contain_text("On the map")

    second.get_by_role("button", name="Put on the map").click()
    panel = second.locator("#conflict")
    expect(panel).to_be_visible()
    expect(panel.locator("li")).to_have_text(re.compile("crack: put on$"))
    assert len(map_of(second)) == before + 1
    assert violations(second) == []

    panel.get_by_role("button", name="Keep mine as well").click()
    expect(second.locator("#map-word")).to_contain_text("On the map")
    assert len(map_of(second)) == before + 2


def test_the_second_of_two_may_drop_theirs(own_demo: str, two_desks: tuple[Page, Page]) -> None:
    first, second = two_desks
    for page in two_desks:
        open_board(page, own_demo, "SG-0003")
    link = first.locator("#flaws a[data-flaw]").first
    own = link.get_attribute("data-flaw")
    for page in two_desks:
        page.locator(f'#flaws a[data-flaw="{own}"]').click()
    first.get_by_label("Note").first.fill("looked at again")
    first.get_by_role("button", name="Keep the change").click()
    expect(first.locator("#map-word")).to_contain_text("On the map")

    second.get_by_role("button", name="Take off the map").click()
    expect(second.locator("#conflict li")).to_have_text(re.compile(f"^/{own} .*: changed$"))
    second.get_by_role("button", name="Drop mine").click()
    expect(second.locator("#conflict")).to_be_hidden()
    assert own in [each["id"].rpartition("/")[2] for each in map_of(second, "SG-0003")]


def test_a_suggestion_is_accepted_where_it_stands(own_demo: str, phone: Page) -> None:
    phone.goto(f"{own_demo}/board/SG-0003")
    offers = phone.locator("#offers > li")
    waiting = offers.count()
    accept = phone.locator("#offers > li", has_not_text="meets").get_by_role("button", name="Accept").first
    number = accept.get_attribute("value")
    flaws = phone.locator("#flaws a").count()

    accept.tap()

    expect(offers).to_have_count(waiting - 1)
    expect(phone.locator("#flaws a")).to_have_count(flaws + 1)
    told = phone.evaluate("fetch('/api/boards/SG-0003/suggestions?every=true').then((a) => a.json())")
    decided = next(each for each in told["suggestions"] if each["id"] == f"SG-0003:{number}")
    assert decided["decided"] == "accepted"


def test_without_a_script_the_same_is_done_by_forms(own_demo: str, chromium: Browser) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto(f"{own_demo}/board/{BOARD}")
    flaws = page.locator("#flaws a").count()
    page.get_by_label("Points").fill("900,40 1200,44")
    page.get_by_role("button", name="Put on the map").click()
    expect(page.locator("#flaws a")).to_have_count(flaws + 1)
    page.locator("#flaws a").last.click()
    page.get_by_role("button", name="Take off the map").click()
    expect(page.locator("#flaws a")).to_have_count(flaws)
    context.close()
