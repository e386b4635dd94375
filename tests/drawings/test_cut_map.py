from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings import cut_map
from stockyard.errors import NotFound
from stockyard.timber import DefectKind, Face
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.drawings.paper import (
    SVG,
    assert_self_contained,
    assert_well_set,
    group,
    groups,
    patch,
    read,
    scale_of,
    text_patches,
    texts,
)
from tests.drawings.plans import Wanted, a_plan

CRACK = a_defect(id="front", outline=a_box(310, 40, 455, 55))
VEIN = a_defect(id="back", kind=DefectKind.GUM_VEIN, face=Face.B, outline=a_box(900, 30, 1500, 36))
BOARD = a_board(length_mm=2700, defects=(CRACK, VEIN))
WIDE = a_board(id="SG-0003", length_mm=4800, width_mm=230)
TOP, SIDE = a_panel(id="top"), a_panel(id="side", length_mm=720, width_mm=200)
PLAN = a_plan(
    a_job(TOP, SIDE),
    {
        "top": [
            Wanted(BOARD, 120, x=25, y=10, treat=("front",)),
            Wanted(WIDE, 140),
            Wanted(WIDE, 120, y=151),
        ],
        "side": [Wanted(BOARD, 90, x=1248), Wanted(WIDE, 110, x=1243, show=Face.B)],
    },
)


def window(drawn, board, scale):
    """A patch of paper as a window of the board: x0, y0, x1, y1. [mm of wood]"""
    return (
        (drawn.x0 - board.x0) * scale,
        (board.y1 - drawn.y1) * scale,
        (drawn.x1 - board.x0) * scale,
        (board.y1 - drawn.y0) * scale,
    )


def test_staves_and_offcuts_lie_to_scale_on_the_whole_board():
    root = read(cut_map(PLAN, BOARD))
    whole = group(root, "board", "SG-0001")
    board = patch(next(iter(whole.iter(f"{SVG}polygon"))))
    scale = 2700 / board.size[0]

    assert board.size[1] == pytest.approx(180 / scale, abs=0.002)
    stave = window(patch(group(whole, "stave", "top/1")), board, scale)
    assert stave == pytest.approx((25, 10, 1245, 138), abs=0.05)
    other = window(patch(group(whole, "stave", "side/1")), board, scale)
    assert other == pytest.approx((1248, 0, 1988, 98), abs=0.05)
    offcut = window(patch(group(whole, "offcut", "offcut 2")), board, scale)
    assert offcut == pytest.approx((1991, 0, 2700, 180), abs=0.05)


def test_a_section_is_drawn_at_the_scale_the_sheet_states():
    root = read(cut_map(PLAN, BOARD))
    scale = scale_of(root)
    section = group(root, "section", "section 1")

    assert patch(next(iter(section.iter(f"{SVG}polygon")))).size == pytest.approx(
        (1220 / scale, 180 / scale), abs=0.002
    )
    rough, finished = group(section, "stave", "top/1").findall(f"{SVG}polygon")
    assert patch(rough).size == pytest.approx((1220 / scale, 128 / scale), abs=0.002)
    assert patch(finished).size == pytest.approx((1200 / scale, 120 / scale), abs=0.002)
    assert "stroke-dasharray" in finished.attrib


def test_places_to_mark_with_a_tape_are_written_large():
    root = read(cut_map(PLAN, BOARD))
    sizes = {element.text: float(element.attrib["font-size"]) for element in root.iter(f"{SVG}text")}

    for docked in ("25", "1245–1248", "1988"):
        assert sizes[docked] >= 4
    for ripped in ("7–10", "138–141", "98–101"):
        assert sizes[ripped] >= 3.5
    for width in ("128", "98", "79"):
        assert sizes[width] >= 4.5
    assert sizes["SG-0001"] >= 10


def test_a_tape_mark_stands_by_its_cut():
    root = read(cut_map(PLAN, BOARD))
    whole = group(root, "board", "SG-0001")
    board = patch(next(iter(whole.iter(f"{SVG}polygon"))))
    scale = 2700 / board.size[0]

    (at,) = [box for words, box in text_patches(whole) if words == "1988"]
    assert (at.x0 + at.x1) / 2 == pytest.approx(board.x0 + 1988 / scale, abs=0.01)


def test_every_offcut_is_written_with_its_size_and_worth():
    written = texts(read(cut_map(PLAN, BOARD)))

    cut = next(cut for cut in PLAN.boards if cut.id == BOARD.id)
    assert len(cut.offcuts) == 2
    assert "709 × 180" in written
    assert "740 × 79" in written
    assert {"11.20 AUD", "3.10 AUD"} <= set(written)
    assert sum(offcut.value for offcut in cut.offcuts) == Decimal("14.30")


def test_every_stave_of_the_board_is_listed_with_the_face_it_shows():
    written = texts(read(cut_map(PLAN, WIDE)))

    for stave in ("top, stave 2", "top, stave 3", "side, stave 2"):
        assert stave in written
    assert written.count("face A") == 2
    assert written.count("face B") == 1


def test_a_defect_of_the_far_face_is_dashed_and_one_of_the_near_face_hatched():
    whole = group(read(cut_map(PLAN, BOARD)), "board", "SG-0001")

    (far,) = group(whole, "defect", "back").findall(f"{SVG}polygon")
    assert "stroke-dasharray" in far.attrib
    assert far.attrib["fill"] == "none"
    assert any("url" in p.attrib["fill"] for p in group(whole, "defect", "front").findall(f"{SVG}polygon"))


def test_a_defect_across_a_crosscut_shows_in_both_sections_within_them():
    root = read(cut_map(PLAN, BOARD))

    for name in ("section 1", "section 2"):
        section = group(root, "section", name)
        wood = patch(next(iter(section.iter(f"{SVG}polygon"))))
        vein = patch(group(section, "defect", "back"))
        assert wood.x0 - 0.01 <= vein.x0
        assert vein.x1 <= wood.x1 + 0.01


def test_a_stave_shorter_than_its_section_says_where_to_dock_it():
    board = a_board(width_mm=260)
    short, long = a_panel(id="short", length_mm=600), a_panel(id="long", length_mm=900)
    plan = a_plan(a_job(long, short), {"long": [Wanted(board, 100)], "short": [Wanted(board, 100, y=113)]})

    assert any("dock to 620" in words for words in texts(read(cut_map(plan, board))))


def test_a_board_the_plan_does_not_cut_is_not_drawn():
    with pytest.raises(NotFound, match="no board cut in this plan 'BB-0009'"):
        cut_map(PLAN, a_board(id="BB-0009"))


def test_safety_at_the_saw_is_on_the_sheet():
    assert any("push stick" in words for words in texts(read(cut_map(PLAN, BOARD))))


@pytest.mark.parametrize("board", [BOARD, WIDE])
def test_a_cut_map_is_self_contained_and_well_set(board):
    text = cut_map(PLAN, board)

    assert_self_contained(text)
    assert_well_set(read(text))


def test_names_may_hold_anything():
    board = a_board(id="<b>&\x00", defects=(a_defect(id='"><script>'),))
    panel = a_panel(id="</svg>&amp;" * 9)
    text = cut_map(a_plan(a_job(panel, id="<!--"), {panel.id: [Wanted(board, 90)]}), board)

    assert_self_contained(text)
    assert_well_set(read(text))


def test_seven_short_pieces_from_a_long_narrow_board_are_all_drawn():
    board = a_board(id="BB-0112", length_mm=4800, width_mm=90)
    slats = [a_panel(id=f"slat {n}", length_mm=600, staves_min=1) for n in range(7)]
    plan = a_plan(a_job(*slats), {f"slat {n}": [Wanted(board, 70, x=20 + 623 * n, y=2)] for n in range(7)})
    root = read(cut_map(plan, board))

    assert_well_set(root)
    assert len(groups(root, "section")) == 7
    assert "2509–2512" in texts(root)


@settings(max_examples=40, deadline=None)
@given(
    length=st.integers(1500, 6000),
    width=st.integers(60, 400),
    stave_length=st.integers(200, 1400),
    stave_width=st.integers(12, 120),
    gap=st.integers(0, 40),
    marks=st.lists(st.tuples(st.floats(0, 0.9), st.floats(0, 0.9)), max_size=12),
)
def test_any_lawful_cutting_is_drawn_whole_and_well_set(length, width, stave_length, stave_width, gap, marks):
    board = a_board(
        length_mm=length,
        width_mm=width,
        defects=tuple(
            a_defect(id=f"d{n}", outline=a_box(x * length, y * width, (x + 0.1) * length, (y + 0.1) * width))
            for n, (x, y) in enumerate(marks)
        ),
    )
    step_x, step_y = stave_length + 23 + gap, stave_width + 11 + 3 + gap
    places = [
        (x, y)
        for x in range(20, length - 20 - stave_length - 20, step_x)
        for y in range(0, width - stave_width - 11, step_y)
    ][:30]
    panel = a_panel(id="slats", length_mm=stave_length)
    staves = [Wanted(board, stave_width, x=x, y=y) for x, y in places]
    if not staves:
        return
    root = read(cut_map(a_plan(a_job(panel), {"slats": staves}), board))

    assert_well_set(root)
    whole = group(root, "board", board.id)
    assert len(groups(whole, "stave")) == len(staves)
    assert len(groups(whole, "defect")) == len(board.defects)
    assert sum(len(groups(section, "stave")) for section in groups(root, "section")) == len(staves)
