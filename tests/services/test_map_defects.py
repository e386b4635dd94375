import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard
from stockyard.services.map_defects import (
    Sketch,
    add_defect,
    edit_defect,
    kind_named,
    list_defects,
    remove_defect,
)
from stockyard.timber import DefectKind, Face
from tests.services.yards import SPOTTED_GUM, receive

BOW_TIE = [(0, 0), (50, 40), (50, 0), (0, 40)]


def test_every_kind_can_be_mapped_as_a_box_on_every_face(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    for kind in DefectKind:
        for face in Face:
            mapped = add_defect(yard.open_work, "SG-0001", Sketch(kind=kind, face=face, box=(10, 10, 60, 30)))
            assert (mapped.defect.kind, mapped.defect.face) == (kind, face)
    assert len(list_defects(yard.open_work, "SG-0001")) == 3 * len(DefectKind)


def test_a_box_may_be_given_from_any_corner(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    mapped = add_defect(
        yard.open_work, "SG-0001", Sketch(kind=DefectKind.DECAY, face=Face.A, box=(60, 10, 10, 30))
    )
    assert set(mapped.defect.outline) == {(10, 10), (60, 10), (60, 30), (10, 30)}


def test_a_crack_line_with_an_opening_becomes_an_outline_of_that_width(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    sketch = Sketch(kind=DefectKind.CRACK, face=Face.A, line=[(100, 50), (300, 50)], opening_mm=2, depth_mm=3)
    defect = add_defect(yard.open_work, "SG-0001", sketch).defect
    assert {y for _, y in defect.outline} == {49, 51}
    assert (defect.opening_mm, defect.depth_mm) == (2, 3)


@pytest.mark.parametrize(
    ("sketch", "told"),
    [
        (Sketch(kind=DefectKind.CRACK, face=Face.A, box=(10, 10, 2500, 30)), "(2500, 10)"),
        (
            Sketch(kind=DefectKind.CRACK, face=Face.A, polygon=[(0, 0), (50, 40), (50, 0), (0, 40)]),
            "(25, 20)",
        ),
        (Sketch(kind=DefectKind.CRACK, face=Face.A, line=[(100, 50), (300, -1)], opening_mm=1), "(300, -1)"),
        (Sketch(kind=DefectKind.CRACK, face=Face.A), "a box, a polygon or a line"),
        (Sketch(face=Face.A, box=(1, 1, 5, 5)), "a kind of defect"),
        (Sketch(kind=DefectKind.CRACK, box=(1, 1, 5, 5)), "A, B or both"),
        (Sketch(kind=DefectKind.CRACK, face=Face.A, box=(1, 1, 5, 5), depth_mm=33), "0 to 32 mm"),
        (Sketch(kind=DefectKind.CRACK, face=Face.A, box=(1, 1, 5, 5), opening_mm=float("nan")), "opening"),
        (Sketch(kind=DefectKind.CRACK, face=Face.A, box=(1, 1, 5, float("inf"))), "finite"),
        (Sketch(kind=DefectKind.CRACK, face=Face.A, box=(1, 1, 5, 5), line=[(0, 0), (1, 1)]), "one of box"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_its_place(yard: Yard, sketch: Sketch, told: str) -> None:
    receive(yard, SPOTTED_GUM)
    with pytest.raises(BadInput) as refused:
        add_defect(yard.open_work, "SG-0001", sketch)
    assert told in str(refused.value)
    assert list_defects(yard.open_work, "SG-0001") == ()


def test_an_edit_keeps_what_stood_before(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    add_defect(yard.open_work, "SG-0001", Sketch(kind=DefectKind.CRACK, face=Face.A, box=(1, 1, 50, 5)))
    edit_defect(yard.open_work, "SG-0001/1", Sketch(face=Face.BOTH, note="goes through"), "turned it over")
    (now,) = list_defects(yard.open_work, "SG-0001")
    first, second = list_defects(yard.open_work, "SG-0001", history=True)
    assert (now.defect.face, now.note, now.cause) == (Face.BOTH, "goes through", "turned it over")
    assert (first.defect.face, second.defect.face) == (Face.A, Face.BOTH)


def test_a_removed_defect_leaves_the_map_and_stays_on_record(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    add_defect(yard.open_work, "SG-0001", Sketch(kind=DefectKind.STAIN, face=Face.A, box=(1, 1, 50, 5)))
    remove_defect(yard.open_work, "SG-0001/1", "a pencil mark")
    assert list_defects(yard.open_work, "SG-0001") == ()
    assert [each.removed for each in list_defects(yard.open_work, "SG-0001", history=True)] == [False, True]
    with pytest.raises(Refused, match="off the map"):
        remove_defect(yard.open_work, "SG-0001/1")


def test_an_edit_of_nothing_says_so(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    add_defect(yard.open_work, "SG-0001", Sketch(kind=DefectKind.STAIN, face=Face.A, box=(1, 1, 50, 5)))
    with pytest.raises(BadInput, match="Nothing was given"):
        edit_defect(yard.open_work, "SG-0001/1", Sketch())


def test_a_board_that_is_not_there_is_named_with_its_neighbours(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    with pytest.raises(NotFound, match="SG-0001"):
        add_defect(yard.open_work, "SG-0010", Sketch(kind=DefectKind.STAIN, face=Face.A, box=(1, 1, 50, 5)))


@pytest.mark.parametrize("text", ["bark inclusion", "Bark-Inclusion", "bark_inclusion"])
def test_kinds_may_be_spelt_as_people_do(text: str) -> None:
    assert kind_named(text) is DefectKind.BARK_INCLUSION


def test_a_misspelt_kind_offers_near_ones() -> None:
    with pytest.raises(NotFound, match="crack"):
        kind_named("crak")
