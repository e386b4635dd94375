import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings import board_text
from stockyard.errors import BadInput
from stockyard.timber import DefectKind, Face
from tests.builders import a_board, a_box, a_defect

K = DefectKind


def rows(text, face):
    """The rows of a face from edge 1 up, frames taken off."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(f"Face {face}"))
    grid = []
    for line in lines[start + 1 :]:
        if "|" not in line:
            break
        grid.append(line[line.index("|") + 1 : line.rindex("|")])
    return grid[::-1]


def test_a_cell_carries_the_letter_of_the_kind_its_defect_meets():
    board = a_board(
        length_mm=740, width_mm=120, defects=(a_defect(kind=K.SOUND_KNOT, outline=a_box(100, 20, 130, 40)),)
    )

    grid = rows(board_text(board), "A")  # 74 columns of 10 mm, 6 rows of 20 mm

    assert grid[1] == "." * 10 + "NNN" + "." * 61
    assert all(set(row) == {"."} for number, row in enumerate(grid) if number != 1)


def test_defects_show_on_their_own_face_and_through_ones_on_both():
    board = a_board(
        defects=(
            a_defect(id="a", face=Face.A, kind=K.DECAY),
            a_defect(id="b", face=Face.B, kind=K.STAIN, outline=a_box(900, 10, 1100, 40)),
            a_defect(id="c", face=Face.BOTH, kind=K.PITH, outline=a_box(1900, 10, 2100, 40)),
        )
    )
    text = board_text(board)

    letters = {face: set("".join(rows(text, face))) - {"."} for face in "AB"}
    assert letters == {"A": {"D", "P"}, "B": {"T", "P"}}


def test_what_weakens_is_shown_before_what_does_not_and_equals_as_a_star():
    sapwood = a_defect(id="s", kind=K.SAPWOOD, outline=a_box(0, 0, 2400, 30))
    crack = a_defect(id="c", kind=K.CRACK, outline=a_box(0, 0, 300, 20))
    wane = a_defect(id="w", kind=K.WANE, outline=a_box(0, 0, 100, 10))

    assert set(rows(board_text(a_board(defects=(sapwood, crack))), "A")[0]) == {"C", "S"}
    assert set(rows(board_text(a_board(defects=(sapwood, crack, wane))), "A")[0]) == {"*", "C", "S"}


def test_the_list_gives_kind_face_place_and_size():
    text = board_text(a_board(defects=(a_defect(depth_mm=3, opening_mm=0.4),)))

    line = next(line for line in text.splitlines() if line.startswith("C1"))
    assert line.split() == [
        "C1",
        "crack",
        "A",
        "300-400",
        "80-84",
        "100",
        "x",
        "4",
        "3",
        "deep,",
        "open",
        "0.4",
    ]


def test_the_ruler_starts_at_end_1_and_ends_with_the_length():
    lines = board_text(a_board(length_mm=2440)).splitlines()
    ruler = next(i for i, line in enumerate(lines) if line.lstrip().startswith("+"))

    assert lines[ruler + 1].split()[0] == "0"
    assert lines[ruler + 1].split()[-1] == "2440"
    assert len(lines[ruler]) == 80


def test_ticks_stand_over_their_figures():
    lines = board_text(a_board(length_mm=2440)).splitlines()
    ruler = next(i for i, line in enumerate(lines) if line.lstrip().startswith("+"))

    for figure in ("500", "1000", "1500"):
        assert lines[ruler][lines[ruler + 1].index(figure)] == "+"


def test_control_characters_in_a_name_never_reach_the_terminal():
    text = board_text(a_board(id="\x1b[2J\x07SG", species="gum\nmess", defects=(a_defect(id="\x9b"),)))

    assert all(letter.isprintable() for letter in text.replace("\n", ""))
    assert "gum?mess" in text


def test_too_few_columns_are_refused():
    with pytest.raises(BadInput, match="at least 48 columns"):
        board_text(a_board(), columns=30)


@settings(max_examples=60, deadline=None)
@given(
    st.integers(48, 200),
    st.floats(20, 9000),
    st.floats(5, 900),
    st.text(max_size=120),
    st.lists(st.tuples(st.sampled_from(DefectKind), st.sampled_from(Face), st.floats(0, 0.9)), max_size=12),
)
def test_no_line_is_longer_than_the_terminal(columns, length, width, name, marks):
    defects = tuple(
        a_defect(
            id=f"d{n}", kind=kind, face=face, outline=a_box(x * length, 0, (x + 0.1) * length, width * 0.7)
        )
        for n, (kind, face, x) in enumerate(marks)
    )
    text = board_text(a_board(id=name, length_mm=length, width_mm=width, defects=defects), columns)

    assert max(map(len, text.splitlines())) <= columns
    for defect in defects:
        for face in ("A", "B") if defect.through else (defect.face.value,):
            assert set("".join(rows(text, face))) - {"."}
