from stockyard.drawings.joint_marks import LineJoints, joint_table
from stockyard.drawings.panel_layout import panel_layout
from tests.builders import a_board, a_job, a_panel
from tests.drawings.paper import (
    assert_self_contained,
    assert_well_set,
    group,
    groups,
    patch,
    read,
    scale_of,
    texts,
)
from tests.drawings.plans import Wanted, a_plan

BOARDS = {name: a_board(id=name) for name in ("SG-0001", "SG-0002")}
PLAN = a_plan(a_job(a_panel()), {"top": [Wanted(board, 170) for board in BOARDS.values()]})
BISCUITS = LineJoints("biscuit", (1, 2), 170, (60, 600, 1140), marks_mm=30)


def drawn(*lines):
    text = panel_layout(PLAN, "top", BOARDS, lines)
    assert_self_contained(text)
    root = read(text)
    assert_well_set(root)
    return root


def test_joints_lie_in_their_glue_line_at_their_places_on_both_sides():
    root = drawn(BISCUITS)
    scale = scale_of(root)
    for side in ("show face", "back"):
        face = group(root, "face", side)
        whole = patch(groups(face, "stave")[0])
        boxes = [
            patch(shape) for shape in group(face, "joints", "1-2").iter() if shape.tag.endswith("polygon")
        ]
        centres = [(box.x0 + box.x1) / 2 - whole.x0 for box in boxes]
        line = patch(groups(face, "stave")[0]).y0

        for centre, wanted in zip(centres, BISCUITS.centres_mm, strict=True):
            assert abs(centre - wanted / scale) < 0.02
        assert all(abs((box.y0 + box.y1) / 2 - line) < 0.02 for box in boxes)
        assert all(abs(box.size[0] - 56 / scale) < 0.02 for box in boxes)


def test_joints_are_listed_with_the_marks_to_strike():
    written = texts(drawn(BISCUITS))

    assert "60, 600, 1140" in written
    assert "centres from the first finished end, marks 30 to each side" in written


def test_a_spline_is_drawn_as_its_groove_and_listed_from_where_to_where():
    root = drawn(LineJoints("spline", (1, 2), 170, stretches_mm=((60, 500), (700, 1140)), reach_mm=10))

    assert "60 to 500, 700 to 1140" in texts(root)
    assert len(groups(root, "joints", "1-2")[0]) == 3  # its title and two grooves


def test_a_panel_without_joints_has_no_list_of_them():
    assert not groups(drawn(), "joints")
    assert not any("glue line" in text and "centres" in text for text in texts(drawn()))


def test_many_centres_go_on_in_another_row():
    table = joint_table(
        [LineJoints("dowel", (1, 2), 170, tuple(range(60, 1200, 50)), half_length_mm=4, reach_mm=25)]
    )

    assert [len(row[2].split(", ")) for row in table.rows] == [12, 11]
    assert table.rows[1][0] == ""
