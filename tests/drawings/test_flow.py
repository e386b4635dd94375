import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings.board_map import board_sheets
from stockyard.drawings.cut_map import cut_sheets
from stockyard.drawings.flow import Flow
from stockyard.drawings.page import Column, Table
from stockyard.drawings.panel_layout import panel_sheets
from stockyard.drawings.sheet import Group, Sheet, Words
from stockyard.drawings.svg import svg
from stockyard.timber import Face
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.drawings.paper import assert_well_set, read
from tests.drawings.plans import Wanted, a_plan

COLUMNS = (Column("key", 20, bold=True), Column("kind", 60))


def a_flow():
    return Flow(Sheet("t", "s"), 30, next_page=lambda: (Sheet("t", "s"), 20.0))


def words(sheet):
    found = []
    waiting = list(sheet.marks)
    while waiting:
        mark = waiting.pop(0)
        if isinstance(mark, Group):
            waiting = [*mark.marks, *waiting]
        elif isinstance(mark, Words):
            found.append(mark)
    return found


@given(st.integers(0, 260), st.floats(1, 2))
@settings(max_examples=30, deadline=None)
def test_a_long_table_goes_on_over_pages_and_loses_no_row(rows, by):
    flow = a_flow()
    flow.set_table(Table(COLUMNS, [(f"C{n}", "crack") for n in range(rows)]).larger(by))

    keys = [mark.text for sheet in flow.sheets for mark in words(sheet) if mark.text.startswith("C")]
    assert keys == [f"C{n}" for n in range(rows)]
    assert all(mark.y_mm <= sheet.foot_mm for sheet in flow.sheets for mark in words(sheet))
    assert all(sheet.height_mm == 210 for sheet in flow.sheets)


def test_a_block_that_does_not_fit_begins_a_page_with_what_must_follow_it():
    flow = a_flow()
    flow.claim(120)
    top = flow.claim(20, with_mm=40)

    assert (len(flow.sheets), top) == (2, 20)


def test_a_sheet_without_another_page_grows():
    flow = Flow(Sheet("t", "s"), 30)
    flow.set_table(Table(COLUMNS, [(f"C{n}", "crack") for n in range(400)]))

    assert len(flow.sheets) == 1
    assert flow.sheet.height_mm > 400


@pytest.mark.parametrize("marks", [0, 3, 40, 150])
def test_boards_cuts_and_panels_of_any_length_come_on_a4_pages(marks):
    defects = tuple(
        a_defect(
            id=f"d{n}",
            face=list(Face)[n % 3],
            outline=a_box(60 + 14 * n, 20 + n % 90, 72 + 14 * n, 30 + n % 90),
        )
        for n in range(marks)
    )
    board = a_board(id="SG-0002", defects=defects)
    plan = a_plan(
        a_job(a_panel()),
        {"top": [Wanted(a_board(id="SG-0001"), 170), Wanted(board, 170, treat=tuple(d.id for d in defects))]},
    )
    boards = {"SG-0001": a_board(id="SG-0001"), "SG-0002": board}

    for pages in (board_sheets(board), cut_sheets(plan, board), panel_sheets(plan, "top", boards)):
        for page in pages:
            assert (page.width_mm, page.height_mm) == (297, 210)
            assert_well_set(read(svg(page)))
        assert len(pages) == 1 or any(f"page 2 of {len(pages)}" in mark.text for mark in words(pages[1]))
