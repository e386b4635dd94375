from stockyard.drawings.hatches import HATCHES
from stockyard.drawings.sheet import Group, Line, Shape, Sheet, Words, rectangle
from stockyard.drawings.svg import svg
from tests.drawings.paper import SVG, assert_self_contained, corners, page, read, texts


def a_sheet(title="Board 1", *marks):
    sheet = Sheet(title, "A board")
    sheet.add(*marks)
    return sheet


def test_a_page_is_drawn_in_millimetres():
    assert page(read(svg(a_sheet()))) == (297, 210)


def test_two_drawings_in_one_page_do_not_share_ids():
    square = Shape(rectangle(10, 10, 20, 20), hatch="net")
    first, second = (read(svg(a_sheet(title, square))) for title in ("Board 1", "Board 2"))

    ids = [{e.attrib["id"] for e in root.iter() if "id" in e.attrib} for root in (first, second)]
    assert len(ids[0]) == len(ids[1]) == 3
    assert not ids[0] & ids[1]


def test_the_same_sheet_gives_the_same_text():
    assert svg(a_sheet("x", Words(1, 2, "a"))) == svg(a_sheet("x", Words(1, 2, "a")))


def test_text_and_names_are_escaped_and_unlawful_characters_replaced():
    text = svg(a_sheet("<t>", Words(10, 10, 'a<b>&"\x00\ud800\ufffe'), Group('"r"', "<n>", (), "s&")))

    assert_self_contained(text)
    assert texts(read(text)) == ['a<b>&"\ufffd\ufffd\ufffd']


def test_only_hatches_that_are_used_are_defined():
    root = read(svg(a_sheet("x", Group("g", "n", (Shape(rectangle(1, 1, 9, 9), hatch="net"),)))))

    assert [pattern.attrib["id"].split("-", 1)[1] for pattern in root.iter(f"{SVG}pattern")] == ["net"]


def test_every_hatch_can_be_drawn():
    shapes = [Shape(rectangle(1, 1, 9, 9), fill="#ffffff", hatch=name) for name in HATCHES]

    text = svg(a_sheet("hatches", *shapes))
    assert_self_contained(text)
    assert len(list(read(text).iter(f"{SVG}pattern"))) == len(HATCHES)


def test_an_arrow_has_its_head_at_its_last_point():
    root = read(svg(a_sheet("x", Line(((10, 10), (40, 10)), arrow=True))))

    head = corners(root.find(f"{SVG}polygon"))
    assert head[0] == (40, 10)
    assert all(x < 40 for x, _ in head[1:])
