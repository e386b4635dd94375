import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.grading.appearance import appearance_grade, longest_in_window, most_in_window
from stockyard.grading.appearance_rules import feature_of, read_rules, shipped_rules
from stockyard.timber import DefectKind, Face
from tests.builders import a_board, a_box, a_defect


def flaw(kind, x0, x1, y0, y1, name="W/1", face=Face.A, **changes):
    return a_defect(id=name, kind=DefectKind(kind), face=face, outline=a_box(x0, y0, x1, y1), **changes)


def board(*defects, width=150, length=2400):
    return a_board(id="W", width_mm=width, length_mm=length, defects=defects)


def knot(size, x=1000, **changes):
    return flaw("sound_knot", x, x + size, 50, 50 + size, **changes)


def both_faces(make, *args, **changes):
    """The same flaw on each face, so that there is no better one."""
    return [make(*args, name=f"W/{face}", face=face, **changes) for face in (Face.A, Face.B)]


def test_a_knot_of_37_in_150_passes_prime_and_one_of_38_does_not():
    # GR-01, computed from the table's 25 % (fqtimber.com, read): 24.7 % and 25.3 %.
    assert appearance_grade(board(*both_faces(knot, 37))).grade == "Prime"

    wide = appearance_grade(board(*both_faces(knot, 38)))
    assert wide.grade == "Standard"
    assert "25.3% of the face's width, 25.0% allowed (W/" in wide.why_no_higher[0]


def test_two_pin_holes_of_two_and_a_half_fail_prime_and_pass_standard():
    # GR-02, from the same table: 2 mm in Prime, 3 mm and ten of them in Standard.
    holes = [
        flaw("borer_hole", x, x + 2.5, 50, 52.5, f"W/{face}{x}", face)
        for x in (500, 900)
        for face in (Face.A, Face.B)
    ]
    graded = appearance_grade(board(*holes))

    assert graded.grade == "Standard"
    assert "2.5 mm in size, 2 allowed" in graded.why_no_higher[0]


def vein(x0, x1, name="W/1", face=Face.A):
    return flaw("gum_vein", x0, x1, 70, 71, name, face)


def test_the_window_slides_over_the_boundary_of_two_lengths():
    # GR-03: 400 mm of vein in each of two adjacent lengths of 0.9 m, meeting between them, are 800 in one.
    apart = [
        vein(0, 400, "W/1"),
        vein(1400, 1800, "W/2"),
        vein(0, 400, "W/3", Face.B),
        vein(1400, 1800, "W/4", Face.B),
    ]
    meeting = [
        vein(500, 900, "W/1"),
        vein(900, 1300, "W/2"),
        vein(500, 900, "W/3", Face.B),
        vein(900, 1300, "W/4", Face.B),
    ]

    assert appearance_grade(board(*apart)).grade == "Prime"
    graded = appearance_grade(board(*meeting))
    assert graded.grade == "Standard"
    assert "800 mm of tight gum veins" in graded.why_no_higher[0]
    assert set(graded.trials[0].why_not[0].defects) == {"W/1", "W/2"}


def test_prime_is_judged_on_the_better_face():
    assert appearance_grade(board(knot(60))).grade == "Prime"
    assert appearance_grade(board(knot(60))).trials[0].face is Face.B


def test_standard_is_judged_on_every_face():
    graded = appearance_grade(board(knot(60), vein(0, 500, "W/2", Face.B)))

    assert graded.grade is None
    assert "40.0% of the face's width, 33.3% allowed (W/1)" in " ".join(graded.why_no_higher)


def test_loose_veins_may_show_on_one_face_only():
    one = flaw("gum_vein", 100, 300, 70, 72, "W/1", Face.A, opening_mm=1.0)
    other = flaw("gum_vein", 100, 300, 70, 72, "W/2", Face.B, opening_mm=1.0)

    assert appearance_grade(board(one)).grade == "Prime"  # the other face is clear
    assert appearance_grade(board(one, knot(60, x=1500, name="W/9", face=Face.B))).grade is None
    assert appearance_grade(board(one, vein(500, 950, "W/9", Face.B))).grade == "Standard"
    assert "on both faces" in " ".join(appearance_grade(board(one, other)).why_no_higher)


def test_a_gum_pocket_at_an_end_is_not_standard():
    inside = [flaw("gum_pocket", 100, 200, 70, 78, f"W/{face}", face) for face in (Face.A, Face.B)]
    ending = [flaw("gum_pocket", 0, 100, 70, 78, f"W/{face}", face) for face in (Face.A, Face.B)]

    assert appearance_grade(board(*inside)).grade == "Standard"
    assert appearance_grade(board(*ending)).grade is None


def test_what_the_list_says_nothing_of_is_named_and_not_judged():
    graded = appearance_grade(board(flaw("decay", 100, 200, 0, 150)))

    assert graded.grade == "Prime"
    assert graded.not_judged == ("W/1",)


@pytest.mark.parametrize(
    ("width", "allowed"),
    [
        (119, 3),
        (159, 3),
        (160, 4),
        (200, 5),
    ],  # EN-01 and EN-02: three, and one more for each further 40 mm (read)
)
def test_oak_strips_have_a_knot_more_for_each_40_mm_of_width(width, allowed):
    rules = shipped_rules("appearance_en_oak")

    def with_knots(count):
        knots = [
            flaw("sound_knot", 200 * n + 100, 200 * n + 111, 50, 61, f"W/{face}{n}", face)
            for n in range(count)
            for face in (Face.A, Face.B)
        ]
        return appearance_grade(board(*knots, width=width), rules).grade

    assert with_knots(allowed) == "Q-F 1b"
    assert with_knots(allowed + 1) is None


def test_oak_of_the_first_strip_grade_has_one_small_knot_or_two():
    rules = shipped_rules("appearance_en_oak")
    two = [
        flaw("sound_knot", x, x + 9, 50, 59, f"W/{face}{x}", face)
        for x in (100, 900)
        for face in (Face.A, Face.B)
    ]
    large = both_faces(knot, 10)

    assert appearance_grade(board(*two, width=119), rules).grade == "Q-F 1b"
    assert appearance_grade(board(*two, width=120), rules).grade == "Q-F 1a"
    assert appearance_grade(board(*large, width=200), rules).grade == "Q-F 1b"  # under 10 mm is asked for


def test_oak_knots_under_five_millimetres_are_not_counted_in_the_second_strip_grade():
    rules = shipped_rules("appearance_en_oak")
    tiny = [
        flaw("sound_knot", 100 * n, 100 * n + 4, 50, 54, f"W/{face}{n}", face)
        for n in range(1, 9)
        for face in (Face.A, Face.B)
    ]

    assert appearance_grade(board(*tiny), rules).grade == "Q-F 1b"


def test_a_form_not_yet_filled_judges_nothing_and_says_so():
    graded = appearance_grade(board(knot(60)), shipped_rules("appearance_as2796"))

    assert graded.grade == "Select"
    assert graded.not_judged == ("W/1",)
    assert shipped_rules("appearance_as2796").grades == ("Select", "Medium Feature", "High Feature")


FORM = "grade,features,surfaces,allowed,size,count,window,words\n"


def test_a_workshop_writes_its_own_list():
    rules = read_rules(FORM + "Ours,sound_knot,all,yes,20,1,1000,knots\nOurs,*,all,no,,,,flaws\n", "ours")

    assert appearance_grade(board(knot(20)), rules).grade == "Ours"
    assert appearance_grade(board(knot(21)), rules).grade is None
    assert appearance_grade(board(vein(0, 10)), rules).grade is None
    assert appearance_grade(board(knot(20, 0), knot(20, 900, name="W/2")), rules).grade is None
    assert appearance_grade(board(knot(20, 0), knot(20, 1100, name="W/2")), rules).grade == "Ours"


def test_every_fault_of_a_list_is_told_with_its_row():
    text = FORM + "Ours,knott,some,maybe,-1,x,,knots\n\nOurs,,all,yes,,,,nothing\n"
    with pytest.raises(BadInput) as refusal:
        read_rules("# ours\n" + text, "ours")

    assert [fault.where for fault in refusal.value.faults] == [
        "row 3, features",
        "row 3, size",
        "row 3, count",
        "row 3, surfaces",
        "row 3, allowed",
        "row 5, features",
    ]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("Ours,sound_knot,all,yes", "words for the feature"),
        (",sound_knot,all,yes,20,1,1000,knots", "a grade"),
        ("Ours,sound_knot,all,yes,20,1.5,1000,knots", "a whole number"),
        ("Ours,sound_knot,all,yes,20,1,1000," + "k" * 140_000, "no CSV"),
    ],
)
def test_a_row_that_lacks_something_is_refused(row, says):
    with pytest.raises(BadInput, match=says):
        read_rules(FORM + row + "\n", "ours")


@pytest.mark.parametrize(
    ("text", "says"), [("", "a column grade"), (FORM, "empty"), ("a,b\n1,2\n", "appearance list")]
)
def test_a_list_that_is_none_is_refused(text, says):
    with pytest.raises(BadInput, match=says):
        read_rules(text, "ours")


def test_a_borer_hole_is_named_by_its_size_and_shape():
    hole = flaw("borer_hole", 0, 1, 0, 1)

    assert feature_of(hole, 3, 3) == "pin_hole"
    assert feature_of(hole, 5, 5) == "borer_hole"
    assert feature_of(hole, 40, 10) == "borer_canal"
    assert feature_of(flaw("gum_vein", 0, 1, 0, 1, opening_mm=0.5), 100, 2) == "loose_gum_vein"
    assert feature_of(flaw("gum_vein", 0, 1, 0, 1), 100, 2) == "tight_gum_vein"


spans = st.lists(
    st.tuples(st.integers(0, 2300), st.integers(1, 300)).map(
        lambda s: (float(s[0]), float(min(2400, sum(s))))
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(spans, st.integers(50, 2600))
def test_a_sliding_window_misses_nothing_that_a_millimetre_walk_finds(found, window):
    # Whole-millimetre spans: the greatest length is at a whole millimetre, so walking there finds it.
    starts = range(max(1, 2400 - window + 1))
    walked = max(sum(max(0, min(b, s + window) - max(a, s)) for a, b in found) for s in starts)
    counted = max(sum(a <= s + window and b >= s for a, b in found) for s in starts)

    length, where = longest_in_window(found, window, 2400)
    assert length == walked if window < 2400 else length == sum(b - a for a, b in found)
    assert where[1] - where[0] == min(window, 2400)
    assert most_in_window(found, window, 2400)[0] == (counted if window < 2400 else len(found))
