import random

import pytest

from stockyard.drawings import panel_layout
from stockyard.errors import NotFound
from stockyard.timber import Allowances, DefectKind, Face, Show
from tests.builders import a_board, a_box, a_defect, a_job, a_panel
from tests.drawings.paper import (
    SVG,
    assert_self_contained,
    assert_well_set,
    corners,
    group,
    groups,
    page,
    patch,
    read,
    scale_of,
    text_patches,
    texts,
)
from tests.drawings.plans import Wanted, a_plan

K = DefectKind
KNOT = a_defect(id="knot", kind=K.SOUND_KNOT, outline=a_box(700, 60, 730, 85))
ONE, TWO, THREE = a_board(heart_face=Face.A), a_board(id="SG-0002", defects=(KNOT,)), a_board(id="SG-0003")
TOP = a_panel(length_mm=1200, width_mm=380)


def laid(*, show=Face.A, turned=False, board=TWO, **lists):
    """A plan whose middle stave lies so."""
    middle = Wanted(board, 140, x=20, y=2, show=show, turned=turned, **lists)
    return a_plan(a_job(TOP), {"top": [Wanted(ONE, 120), middle, Wanted(THREE, 120, turned=True)]})


def drawn(plan, *boards, panel="top"):
    return read(panel_layout(plan, panel, {board.id: board for board in (ONE, TWO, THREE, *boards)}))


def in_panel(face, element, scale, panel=TOP):
    """A patch of paper in the panel frame: X0, Y0, X1, Y1 from the finished corner. [mm of wood]"""
    staves = [patch(stave[1]) for stave in groups(face, "stave")]
    left, low = min(s.x0 for s in staves), max(s.y1 for s in staves)
    box = patch(element)
    return (
        (box.x0 - left) * scale,
        (low - box.y1) * scale,
        (box.x1 - left) * scale,
        (low - box.y0) * scale,
    )


@pytest.mark.parametrize(
    ("show", "turned", "expected"),
    [
        # By hand: the knot is 700..730 x 60..85, the stave's finished window 30..1230 x 5..145, and its low
        # edge lies at Y = 120 of the panel.
        (Face.A, False, (670, 120 + 55, 700, 120 + 80)),
        (Face.A, True, (500, 120 + 60, 530, 120 + 85)),
        (Face.B, False, (670, 120 + 60, 700, 120 + 85)),
        (Face.B, True, (500, 120 + 55, 530, 120 + 80)),
    ],
)
def test_a_defect_lies_where_its_stave_brings_it(show, turned, expected):
    root = drawn(laid(show=show, turned=turned, accept=("knot",)))
    face = group(root, "face", "show face" if show is Face.A else "back")

    place = in_panel(face, group(face, "defect", "knot"), scale_of(root))

    assert place == pytest.approx(expected, abs=0.1)


def test_a_defect_of_the_back_is_drawn_on_the_back_alone():
    root = drawn(laid(show=Face.B, accept=("knot",)))

    assert not groups(group(root, "face", "show face"), "defect")
    assert groups(group(root, "face", "back"), "defect", "knot")


def test_a_through_defect_is_drawn_on_both_faces_at_one_place():
    hole = a_defect(id="hole", kind=K.BORER_HOLE, face=Face.BOTH, outline=a_box(400, 50, 404, 54))
    board = a_board(id="SG-0002", defects=(hole,))
    root = drawn(laid(board=board, treat=("hole",)), board)
    scale = scale_of(root)

    places = [
        in_panel(face, group(face, "defect", "hole"), scale)
        for face in (group(root, "face", "show face"), group(root, "face", "back"))
    ]

    assert places[0] == pytest.approx(places[1], abs=0.1)
    assert "through" in texts(root)


def test_staves_stand_in_panel_order_from_the_low_edge_with_their_finished_widths():
    root = drawn(laid())
    scale = scale_of(root)
    for name in ("show face", "back"):
        face = group(root, "face", name)
        spans = [in_panel(face, stave[1], scale) for stave in groups(face, "stave")]

        assert spans[0] == pytest.approx((0, 0, 1200, 120), abs=0.1)
        assert spans[1] == pytest.approx((0, 120, 1200, 260), abs=0.1)
        assert spans[2] == pytest.approx((0, 260, 1200, 380), abs=0.1)


def test_the_outline_as_glued_reaches_past_the_finished_size_by_the_trim():
    job = a_job(TOP, allowances=Allowances(end_trim_mm=12, side_trim_mm=6))
    root = drawn(a_plan(job, {"top": [Wanted(ONE, 190), Wanted(TWO, 190)]}))
    face = group(root, "face", "show face")
    whole = face.find(f"{SVG}polygon")

    assert in_panel(face, whole, scale_of(root)) == pytest.approx((-12, -6, 1212, 386), abs=0.1)


def test_glue_lines_are_drawn_and_their_places_written():
    root = drawn(laid())
    written = texts(root)
    heavy = [
        line
        for line in group(root, "face", "show face").findall(f"{SVG}polyline")
        if float(line.attrib["stroke-width"]) > 0.5
    ]

    assert len(heavy) == 2
    assert {"0", "120", "260", "380"} <= set(written)


def test_a_turned_stave_has_its_arrow_and_end_numbers_the_other_way():
    root = drawn(laid())
    face = group(root, "face", "show face")

    def arrow(place):
        (x0, _), (x1, _) = corners(group(face, "stave", place).find(f"{SVG}polyline"))
        return x1 - x0

    assert arrow("1") > 0
    assert arrow("3") < 0
    ends = sorted(
        (box.y0, box.x0, words) for words, box in text_patches(face) if words in ("1", "2") and box.x0 > 48
    )
    assert [words for _, _, words in ends] == ["2", "1", "1", "2", "1", "2"]  # from the top stave down


def test_treated_and_accepted_defects_are_keyed_to_a_list_with_what_is_done():
    crack = a_defect(id="crack", outline=a_box(300, 40, 400, 44))
    board = a_board(id="SG-0002", defects=(KNOT, crack))
    written = texts(drawn(laid(board=board, treat=("crack",), accept=("knot",)), board))

    row = written.index("thin cyanoacrylate")
    assert written[row - 7 : row] == ["C1", "crack", "show", "2", "270 – 370", "155 – 159", "100 × 4"]
    row = written.index("accepted as it is")
    assert written[row - 7 : row - 4] == ["N2", "sound knot", "show"]


def test_a_defect_in_no_list_is_drawn_without_a_number():
    root = drawn(laid())

    assert not groups(root, "defect")
    assert groups(root, "unlisted", "knot")


def test_the_table_says_how_each_stave_lies():
    written = texts(drawn(laid(show=Face.B, turned=True)))

    assert "B, turned" in written
    assert "heart up" in written
    assert "1220 × 146" in written
    for board in ("SG-0001", "SG-0002", "SG-0003"):
        assert board in written


def test_an_unmade_panel_says_so_and_why():
    plan = a_plan(a_job(TOP), {}, {"top": "no board of jarrah is 1240 mm long"})
    text = panel_layout(plan, "top", {})

    assert_self_contained(text)
    assert "This panel is not made by the plan." in texts(read(text))
    assert "no board of jarrah is 1240 mm long" in texts(read(text))


@pytest.mark.parametrize("why", ["", "W" * 400, "no board is wide enough; " * 90])
def test_a_reason_of_any_length_stays_on_the_page(why):
    assert_well_set(read(panel_layout(a_plan(a_job(TOP), {}, {"top": why}), "top", {})))


def test_a_panel_the_plan_lacks_is_refused():
    with pytest.raises(NotFound, match="no panel in this plan 'door'"):
        panel_layout(laid(), "door", {})


def test_a_board_that_is_not_given_is_named():
    with pytest.raises(NotFound, match="no board 'SG-0001'"):
        panel_layout(laid(), "top", {})


def test_a_panel_seen_from_both_sides_says_so():
    panel = a_panel(show=Show.BOTH)
    plan = a_plan(a_job(panel), {"top": [Wanted(ONE, 190), Wanted(TWO, 190)]})

    assert "both faces seen" in texts(drawn(plan))


@pytest.mark.parametrize(
    ("length", "widths"),
    [(600, [70]), (1800, [112] * 8), (900, [30] * 5), (420, [112, 113, 112, 113]), (2400, [60] * 12)],
)
@pytest.mark.parametrize("marks", [0, 2, 6])
def test_panels_of_one_to_many_staves_are_well_set(length, widths, marks):
    chance = random.Random(length + marks)
    boards = [
        a_board(
            id=f"BB-{n:04d}",
            length_mm=2600,
            defects=tuple(
                a_defect(
                    id=f"BB-{n:04d}/{m}",
                    kind=chance.choice(list(K)),
                    face=chance.choice(list(Face)),
                    outline=a_box(x := chance.randint(0, length), y := chance.randint(0, 50), x + 80, y + 12),
                )
                for m in range(marks)
            ),
        )
        for n in range(len(widths))
    ]
    panel = a_panel(id="table top", length_mm=length, width_mm=sum(widths))
    staves = [
        Wanted(
            board,
            width,
            show=chance.choice([Face.A, Face.B]),
            turned=chance.random() < 0.5,
            treat=tuple(d.id for d in board.defects),
        )
        for board, width in zip(boards, widths, strict=True)
    ]
    text = panel_layout(a_plan(a_job(panel), {panel.id: staves}), panel.id, {b.id: b for b in boards})
    root = read(text)

    assert_self_contained(text)
    assert_well_set(root)
    assert len(groups(root, "stave")) == 2 * len(widths)
    if not marks:
        assert page(root) == (297, 210)


def test_names_may_hold_anything():
    board = a_board(id="<i>\x00&", defects=(a_defect(id="'\"><"),))
    panel = a_panel(id="<svg onload=x>")
    plan = a_plan(a_job(panel), {panel.id: [Wanted(board, 150, treat=("'\"><",))]})

    assert_self_contained(panel_layout(plan, panel.id, {board.id: board}))


def test_a_flaw_that_runs_out_of_the_panel_is_listed_as_far_as_the_panel_goes():
    vein = a_defect(id="vein", kind=DefectKind.GUM_VEIN, outline=a_box(0, 60, 2400, 66))
    board = a_board(id="SG-0002", defects=(vein,))
    written = texts(drawn(laid(board=board, accept=("vein",)), board))

    assert "0 – 1200" in written
