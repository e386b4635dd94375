from stockyard.drawings.lettering import ELLIPSIS
from stockyard.drawings.page import Column, Table, foot, head
from stockyard.drawings.sheet import Sheet, Words

COLUMNS = (Column("key", 10, bold=True), Column("kind", 25))


def words(marks):
    return [mark for mark in marks if isinstance(mark, Words)]


def test_a_table_holds_every_row_and_is_as_tall_as_it_says():
    table = Table(COLUMNS, [(f"C{n}", "crack") for n in range(17)])

    marks = words(table.marks(12, 100, 273))

    assert {f"C{n}" for n in range(17)} <= {mark.text for mark in marks}
    assert max(mark.y_mm for mark in marks) <= 100 + table.height_mm(273)
    assert max(mark.x_mm for mark in marks) < 12 + 273


def test_an_empty_table_takes_no_room():
    assert Table(COLUMNS, []).height_mm(273) == 0
    assert Table(COLUMNS, []).marks(12, 100, 273) == []


def test_a_cell_a_little_too_long_is_set_smaller_and_keeps_its_words():
    (_, _, key, kind) = words(Table(COLUMNS, [("C1", "unsound knot, loose")]).marks(0, 0, 100))

    assert kind.text == "unsound knot, loose"
    assert kind.size_mm < key.size_mm


def test_a_cell_far_too_long_is_cut_short():
    marks = words(Table(COLUMNS, [("C1", "x" * 80)]).marks(0, 0, 100))

    assert marks[-1].text.endswith(ELLIPSIS)


def test_the_rest_of_a_sheet_begins_below_its_head():
    sheet = Sheet("title", "spoken")

    begin = head(sheet, "SG-0001", "board map", ["one", "two", "three"])
    foot(sheet, "left", "right")

    assert begin > max(mark.y_mm for mark in words(sheet.marks) if mark.y_mm < 100)
    assert begin < sheet.foot_mm
