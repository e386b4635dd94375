import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.drawings import board_map
from stockyard.drawings.kinds import HATCH_OF, LETTERS
from stockyard.timber import Board, Defect, DefectKind, Distortion, Face
from tests.builders import a_board, a_box, a_defect
from tests.drawings.paper import (
    SVG,
    assert_self_contained,
    assert_well_set,
    group,
    groups,
    page,
    patch,
    read,
    scale_of,
    texts,
)

K = DefectKind
THROUGH = a_defect(id="SG-0001/2", kind=K.BARK_INCLUSION, face=Face.BOTH, outline=a_box(1800, 100, 1860, 130))
CRACK = a_defect(
    id="SG-0001/1", outline=((310, 40), (455, 52), (455, 55), (310, 43)), depth_mm=3, opening_mm=0.4
)
VEIN = a_defect(id="SG-0001/3", kind=K.GUM_VEIN, face=Face.B, outline=a_box(900, 30, 1500, 36))
MAPPED = a_board(defects=(THROUGH, CRACK, VEIN), heart_face=Face.B, distortion=Distortion(bow_mm=4))


def body(face):
    return patch(face[[child.tag for child in face].index(f"{SVG}polygon")])


@pytest.mark.parametrize(
    ("length", "width"), [(2400, 180), (4800, 90), (900, 400), (300, 40), (6000, 300), (1200, 25)]
)
def test_faces_are_drawn_at_the_scale_the_sheet_states(length, width):
    root = read(board_map(a_board(length_mm=length, width_mm=width)))
    scale = scale_of(root)

    for face in ("A", "B"):
        assert body(group(root, "face", face)).size == pytest.approx(
            (length / scale, width / scale), abs=0.002
        )


def test_defects_lie_to_scale_from_end_1_and_edge_1():
    root = read(board_map(MAPPED))
    scale = scale_of(root)
    face = group(root, "face", "A")
    board = body(face)

    drawn = patch(group(face, "defect", "SG-0001/1"))

    assert drawn.x0 - board.x0 == pytest.approx(310 / scale, abs=0.002)
    assert drawn.x1 - board.x0 == pytest.approx(455 / scale, abs=0.002)
    assert board.y1 - drawn.y1 == pytest.approx(40 / scale, abs=0.002)
    assert board.y1 - drawn.y0 == pytest.approx(55 / scale, abs=0.002)


def test_a_through_defect_stands_at_the_same_place_on_both_faces():
    root = read(board_map(MAPPED))
    places = []
    for name in ("A", "B"):
        face = group(root, "face", name)
        board, drawn = body(face), patch(group(face, "defect", "SG-0001/2"))
        places.append((drawn.x0 - board.x0, drawn.y0 - board.y0, *drawn.size))

    assert places[0] == pytest.approx(places[1], abs=0.002)


def test_each_face_shows_its_own_defects_only():
    root = read(board_map(MAPPED))

    shown = {
        name: {g.attrib["data-name"] for g in groups(group(root, "face", name), "defect")} for name in "AB"
    }

    assert shown == {"A": {"SG-0001/1", "SG-0001/2"}, "B": {"SG-0001/2", "SG-0001/3"}}


def test_every_defect_is_keyed_on_its_faces_and_in_the_list_with_its_size():
    root = read(board_map(MAPPED))
    written = texts(root)

    assert written.count("C1") == 2  # over face A, and in the list
    assert written.count("B3") == 3  # over both faces, and in the list
    assert written.count("V2") == 2
    for words in ("310 – 455", "40 – 55", "145 × 15", "through", "0.4"):
        assert words in written


def test_kinds_are_told_apart_by_letter_and_by_hatching():
    assert set(LETTERS) == set(HATCH_OF) == set(DefectKind)
    assert len(set(LETTERS.values())) == len(DefectKind)
    assert len(set(HATCH_OF.values())) == len(DefectKind)


def test_the_hatching_of_a_defect_is_that_of_its_kind():
    root = read(board_map(a_board(defects=(CRACK,))))
    (polygon,) = [
        p for p in group(root, "defect", "SG-0001/1").iter(f"{SVG}polygon") if "url" in p.attrib["fill"]
    ]

    assert polygon.attrib["fill"].endswith(f"-{HATCH_OF[K.CRACK]})")


def test_names_of_ends_edges_and_heart_side_are_written():
    written = texts(read(board_map(MAPPED)))

    assert [written.count(name) for name in ("end 1", "end 2", "edge 1", "edge 2")] == [2, 2, 2, 2]
    assert written[written.index("Face A") + 1] == "bark side, away from the pith"
    assert written[written.index("Face B") + 1] == "heart side, towards the pith"
    assert any("bow 4" in words for words in written)


def test_the_ruler_carries_the_length_and_round_hundreds():
    written = texts(read(board_map(a_board(length_mm=2440))))

    assert written.count("2440") == 2
    assert written.count("1200") == 2


def test_a_board_without_defects_says_so():
    assert "No defects are mapped on this board." in texts(read(board_map(a_board())))


def test_an_ordinary_map_is_an_a4_sheet_on_its_side():
    assert page(read(board_map(MAPPED))) == (297, 210)


@pytest.mark.parametrize("name", ['<&">', "a" * 300, "\x00\x1b[31m\ud800", "板 № 7", "]]>", "--", " "])
def test_names_may_hold_anything(name):
    text = board_map(
        a_board(id=name, species=name, defects=(a_defect(id=name), a_defect(id=name + "2", face=Face.B)))
    )

    assert_self_contained(text)
    assert len(groups(read(text), "defect")) == 2


boards = st.builds(
    lambda length, width, marks: a_board(
        length_mm=length,
        width_mm=width,
        defects=tuple(
            a_defect(
                id=f"d{n}",
                kind=kind,
                face=face,
                outline=a_box(
                    x * length,
                    y * width,
                    x * length + (1 - x) * length * w,
                    y * width + (1 - y) * width * h,
                ),
            )
            for n, (kind, face, x, y, w, h) in enumerate(marks)
        ),
    ),
    st.floats(250, 6000),
    st.floats(20, 600),
    st.lists(
        st.tuples(
            st.sampled_from(DefectKind),
            st.sampled_from(Face),
            st.floats(0, 0.95),
            st.floats(0, 0.95),
            st.floats(0.001, 1),
            st.floats(0.001, 1),
        ),
        max_size=70,
    ),
)


@settings(max_examples=60, deadline=None)
@given(boards)
def test_nothing_written_overlaps_or_leaves_the_page(board: Board):
    root = read(board_map(board))

    assert_well_set(root)
    on_faces = sum(2 if isinstance(d, Defect) and d.through else 1 for d in board.defects)
    assert len(groups(root, "defect")) == on_faces


def test_a_map_is_self_contained_and_described():
    text = board_map(MAPPED)

    assert_self_contained(text)
    assert "C1, crack on face A, 310 to 455 mm from end 1" in (read(text)[1].text or "")
