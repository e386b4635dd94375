from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard.errors import BadInput, NotFound, Refused
from stockyard.records import Yard, open_yard
from stockyard.services.add_photo import take_back_photo
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.decide_suggestions import (
    Which,
    accept_suggestions,
    edit_suggestions,
    reject_suggestions,
    suggestion_history,
)
from stockyard.services.dispose_board import dispose_board
from stockyard.services.map_defects import Sketch, add_defect, list_defects, remove_defect
from stockyard.services.suggest_defects import Boards, list_photos
from stockyard.timber import DefectKind, Face
from stockyard.timber.mapped_defect import DefectOrigin
from stockyard.timber.photo import Verdict
from tests.conftest import at_noon
from tests.services.photographs import keep_photo, line, suggested
from tests.services.yards import SPOTTED_GUM, receive

BOARD = "SG-0001"
KNOT = ((1000, 50), (1030, 50), (1030, 80), (1000, 80))


@pytest.fixture
def yard(yard_place: str, tmp_path: Path) -> Iterator[Yard]:
    """Two boards of 2400 x 180 x 32 mm on each database in turn, with a folder for pictures."""
    with open_yard(yard_place, clock=at_noon, pictures=tmp_path / "pictures") as opened:
        receive(opened, SPOTTED_GUM, SPOTTED_GUM)
        yield opened


@pytest.fixture
def read(yard: Yard) -> Yard:
    """Face A of the first board has a crack (1), a knot (2) and a faint line (3) suggested."""
    found = (
        suggested(line(310, 455, 40), confidence=0.95, could_be=(DefectKind.GUM_VEIN,)),
        suggested(KNOT, DefectKind.SOUND_KNOT, 0.8),
        suggested(line(2000, 2040, 100), confidence=0.3),
    )
    keep_photo(yard, BOARD, Face.A, found)
    return yard


def offers(yard: Yard, board: str = BOARD):
    return {
        offer.suggested.number: offer
        for face in list_photos(yard.open_work, Boards((board,)))
        for offer in face.offers
    }


def on_map(yard: Yard, board: str = BOARD):
    return [mapped.defect for mapped in list_defects(yard.open_work, board)]


def test_what_is_accepted_is_a_defect_with_its_origin_and_the_rest_stays_open(read: Yard) -> None:
    crack, knot = accept_suggestions(read.open_work, Which(("SG-0001:1-2",)))

    assert [each.defect.defect.kind for each in (crack, knot)] == [DefectKind.CRACK, DefectKind.SOUND_KNOT]
    assert crack.defect.origin is DefectOrigin.PHOTO
    assert crack.defect.cause == "suggested on photo 1, 95% sure (SG-0001:1)"
    defect = crack.defect.defect
    assert (defect.outline, defect.face, defect.opening_mm) == (line(310, 455, 40), Face.A, 0.5)
    decided = {number: offer.suggested.decided for number, offer in offers(read).items()}
    assert decided[3] is None
    assert (decided[1].verdict, decided[1].defect) == (Verdict.ACCEPTED, "SG-0001/1")


@pytest.mark.parametrize(
    ("which", "numbers"),
    [
        (Which((BOARD,), every=True), [1, 2, 3]),
        (Which((BOARD,), above=0.8), [1, 2]),
        (Which((BOARD,), kind=DefectKind.CRACK), [1, 3]),
        (Which((BOARD,), kind=DefectKind.CRACK, above=0.9), [1]),
        (Which((BOARD,), face=Face.B), []),
        (Which(docket="1", above=0.9), [1]),
        (Which(("SG-0001:3,1",)), [3, 1]),
        (Which(("SG-0001:2-3", "SG-0001:1")), [2, 3, 1]),
    ],
)
def test_one_or_many_are_chosen_by_number_range_kind_or_confidence(
    read: Yard, which: Which, numbers: list[int]
) -> None:
    done = reject_suggestions(read.open_work, which, because="saw marks")

    assert [each.suggested.number for each in done] == numbers
    assert {n for n, offer in offers(read).items() if not offer.open} == set(numbers)
    assert on_map(read) == []


def test_many_boards_are_decided_on_at_once_all_or_none(read: Yard) -> None:
    keep_photo(read, "SG-0002", Face.B, [suggested(line(100, 200, 90))])

    assert len(accept_suggestions(read.open_work, Which(docket="1", above=0.5))) == 3
    with pytest.raises(Refused, match=r"SG-0002:1 is accepted already, as SG-0002/1"):
        accept_suggestions(read.open_work, Which(("SG-0001:3", "SG-0002:1")))
    assert offers(read)[3].open


def test_what_is_chosen_badly_changes_nothing(read: Yard) -> None:
    for which, words in (
        (Which(), "Say which"),
        (Which((BOARD,)), "Say which suggestions of SG-0001"),
        (Which(docket="1"), "docket 1"),
        (Which(("SG-0001:x",)), "names no suggestions"),
        (Which(("SG-0001:3-1",)), "lower number"),
        (Which(("SG-0001:1-99999999",)), "range"),
        (Which(("SG-0001:9",)), "no suggestion"),
        (Which(("SG-0009:1",)), "no board"),
        (Which(docket="nine", every=True), "no docket"),
    ):
        with pytest.raises((BadInput, NotFound), match=words):
            accept_suggestions(read.open_work, which)
    assert on_map(read) == []
    assert all(offer.open for offer in offers(read).values())


def test_what_was_accepted_can_be_rejected_and_accepted_again_with_all_of_it_on_record(read: Yard) -> None:
    accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    reject_suggestions(read.open_work, Which(("SG-0001:1",)), because="a pencil mark")
    assert on_map(read) == []
    accept_suggestions(read.open_work, Which(("SG-0001:1",)), because="no, a crack")

    one, said = suggestion_history(read.open_work, "SG-0001:1")

    assert [(each.verdict.value, each.defect, each.cause) for each in said] == [
        ("accepted", "SG-0001/1", ""),
        ("rejected", None, "a pencil mark"),
        ("accepted", "SG-0001/2", "no, a crack"),
    ]
    assert one.outline == line(310, 455, 40)
    assert all(each.at is not None and each.who for each in said)
    with pytest.raises(Refused, match=r"as SG-0001/2"):
        accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    remove_defect(read.open_work, "SG-0001/2")
    (again,) = accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    assert again.defect.defect.id == "SG-0001/3"


def test_correcting_accepts_with_changes_and_keeps_what_was_suggested(read: Yard) -> None:
    sketch = Sketch(kind=DefectKind.GUM_VEIN, line=[(300, 41), (460, 41)], opening_mm=2.0, depth_mm=4)
    (edited,) = edit_suggestions(read.open_work, Which(("SG-0001:1",)), sketch, because="probed")

    defect = edited.defect.defect
    assert (defect.kind, defect.depth_mm, defect.opening_mm) == (DefectKind.GUM_VEIN, 4, 2.0)
    assert min(x for x, _ in defect.outline) == 300
    changed = edited.decision.changed
    assert (changed["kind"], changed["depth_mm"], changed["opening_mm"]) == ("gum_vein", 4, 2.0)
    assert set(changed) == {"kind", "outline", "opening_mm", "depth_mm"}
    one, _ = suggestion_history(read.open_work, "SG-0001:1")
    assert (one.kind, one.outline) == (DefectKind.CRACK, line(310, 455, 40))

    edit_suggestions(read.open_work, Which(("SG-0001:1",)), Sketch(kind=DefectKind.CRACK))
    assert [each.kind for each in on_map(read)] == [DefectKind.CRACK]
    both = edit_suggestions(read.open_work, Which(("SG-0001:2-3",)), Sketch(note="ask about it"))
    assert [each.decision.changed["note"] for each in both] == ["ask about it"] * 2
    with pytest.raises(BadInput, match="one by one"):
        edit_suggestions(read.open_work, Which(("SG-0001:1-2",)), Sketch(box=(0, 0, 10, 10)))
    with pytest.raises(BadInput, match="Nothing was given"):
        edit_suggestions(read.open_work, Which(("SG-0001:1",)), Sketch())


def test_a_correction_that_leaves_the_board_maps_nothing(read: Yard) -> None:
    with pytest.raises(BadInput, match="nothing was written"):
        edit_suggestions(read.open_work, Which(("SG-0001:1",)), Sketch(box=(0, 0, 10, 500)))

    assert on_map(read) == []
    assert offers(read)[1].open


def test_a_suggestion_that_meets_a_mapped_defect_is_shown_and_noted_as_the_same(read: Yard) -> None:
    by_hand = add_defect(
        read.open_work,
        BOARD,
        Sketch(kind=DefectKind.SOUND_KNOT, face=Face.A, box=(1005, 48, 1032, 82)),
    )

    assert offers(read)[2].same_as == by_hand.defect.id == "SG-0001/1"
    assert offers(read)[1].same_as is None
    done = accept_suggestions(read.open_work, Which((BOARD,), every=True))

    assert [each.decision.verdict.value for each in done] == ["accepted", "same", "accepted"]
    assert len(on_map(read)) == 3
    assert on_map(read)[0] == by_hand.defect
    reject_suggestions(read.open_work, Which(("SG-0001:2",)))
    assert on_map(read)[0] == by_hand.defect, "what a person mapped is not theirs to remove by rejecting"
    (new,) = accept_suggestions(read.open_work, Which(("SG-0001:2",)), as_new=True)
    assert new.decision.verdict is Verdict.ACCEPTED


def test_a_defect_of_the_other_face_is_not_the_same_one(read: Yard) -> None:
    add_defect(
        read.open_work, BOARD, Sketch(kind=DefectKind.SOUND_KNOT, face=Face.B, box=(1005, 48, 1032, 82))
    )

    assert offers(read)[2].same_as is None


def test_a_crack_seen_on_both_faces_is_offered_and_accepted_as_one(read: Yard) -> None:
    keep_photo(read, BOARD, Face.B, [suggested(line(330, 460, 44), DefectKind.SPLIT, 0.99)])
    assert (offers(read)[1].through, offers(read)[4].through) == ("SG-0001:4", "SG-0001:1")

    done = accept_suggestions(read.open_work, Which((BOARD,), kind=DefectKind.CRACK, above=0.9))

    (defect,) = on_map(read)
    assert [(each.suggested.number, each.with_) for each in done] == [(1, "SG-0001:4"), (4, "SG-0001:1")]
    assert (defect.face, defect.kind) == (Face.BOTH, DefectKind.SPLIT)
    xs, ys = [x for x, _ in defect.outline], [y for _, y in defect.outline]
    assert (min(xs), max(xs), min(ys), max(ys)) == (310, 460, 40, 45)

    reject_suggestions(read.open_work, Which(("SG-0001:1",)), because="two after all")
    assert on_map(read) == []
    assert {offers(read)[n].suggested.decided.verdict for n in (1, 4)} == {Verdict.REJECTED}
    accept_suggestions(read.open_work, Which(("SG-0001:1", "SG-0001:4")), apart=True)
    assert [each.face for each in on_map(read)] == [Face.A, Face.B]


def test_a_crack_on_the_map_of_one_face_goes_through_when_the_other_shows_it(read: Yard) -> None:
    accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    keep_photo(read, BOARD, Face.B, [suggested(line(330, 460, 44))])
    assert offers(read)[4].through == "SG-0001/1"

    (done,) = accept_suggestions(read.open_work, Which(("SG-0001:4",)))

    (defect,) = on_map(read)
    assert (defect.id, defect.face) == ("SG-0001/1", Face.BOTH)
    reject_suggestions(read.open_work, Which(("SG-0001:4",)))
    (defect,) = on_map(read)
    assert (defect.id, defect.face, defect.outline) == ("SG-0001/1", Face.A, line(310, 455, 40))
    assert done.decision.changed["was"]["face"] == "A"


def test_what_was_rejected_is_known_on_the_next_photo_and_not_taken_in_a_handful(read: Yard) -> None:
    reject_suggestions(read.open_work, Which(("SG-0001:2",)), because="a coffee ring")
    keep_photo(read, BOARD, Face.A, [suggested(KNOT, DefectKind.SOUND_KNOT), suggested(line(50, 90, 9))],
               b"another picture")  # fmt: skip

    assert {n: offer.refused_as for n, offer in offers(read).items()} == {4: "SG-0001:2", 5: None}
    done = accept_suggestions(read.open_work, Which((BOARD,), every=True))
    assert [each.suggested.number for each in done] == [5]
    (named,) = accept_suggestions(read.open_work, Which(("SG-0001:4",)))
    assert named.decision.verdict is Verdict.ACCEPTED


def test_only_the_newest_photo_of_a_face_suggests_and_a_number_is_never_given_twice(read: Yard) -> None:
    accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    keep_photo(read, BOARD, Face.A, [suggested(line(311, 456, 41))], b"another picture")

    assert list(offers(read)) == [4]
    assert offers(read)[4].same_as == "SG-0001/1"
    with pytest.raises(BadInput, match="photographed or read again"):
        accept_suggestions(read.open_work, Which(("SG-0001:2",)))
    take_back_photo(read.open_work, 2, "blurred")
    assert list(offers(read)) == [1, 2, 3]


def test_outlines_go_with_a_board_whose_size_is_corrected(read: Yard) -> None:
    correct_board(read.open_work, BOARD, Correction(length_mm=2412, width_mm=178))

    outline = offers(read)[1].outline

    assert [f(x for x, _ in outline) for f in (min, max)] == pytest.approx([311.55, 457.275], abs=0.01)
    assert [f(y for _, y in outline) for f in (min, max)] == pytest.approx([39.556, 40.544], abs=0.01)


def test_the_map_of_a_board_that_is_gone_stays_as_it_is(read: Yard) -> None:
    dispose_board(read.open_work, BOARD, reason="burnt")

    with pytest.raises(BadInput, match="gone"):
        accept_suggestions(read.open_work, Which(("SG-0001:1",)))
    assert accept_suggestions(read.open_work, Which(docket="1", every=True)) == ()
