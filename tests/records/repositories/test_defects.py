from datetime import timedelta

import pytest

from stockyard.errors import NotFound, Refused
from stockyard.records import Yard
from stockyard.timber import DefectKind, Face
from stockyard.timber.mapped_defect import DefectOrigin, DefectState
from tests.builders import a_box
from tests.conftest import NOON
from tests.stocking import receive

BOX = a_box(300, 80, 400, 84)


def test_a_defect_is_numbered_within_its_piece(yard: Yard) -> None:
    with yard.open_work() as work:
        first, second = receive(work, 2)

        ids = [
            work.defects.add(piece, DefectKind.CRACK, Face.A, BOX).defect.id
            for piece in (first, first, second)
        ]

    assert ids == [f"{first}/1", f"{first}/2", f"{second}/1"]


def test_it_comes_back_as_it_was_mapped(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        (board,) = receive(work)
        work.defects.add(
            board,
            DefectKind.BARK_INCLUSION,
            Face.BOTH,
            ((1800, 100), (1860.25, 100), (1850, 130)),
            depth_mm=None,
            opening_mm=0.4,
            note="near the heart",
            origin=DefectOrigin.PHOTO,
            cause="photo 7",
        )
        work.commit()

    with yard.open_work(reading=True) as work:
        (mapped,) = work.defects.of_piece(board)
        assert work.defects.of_pieces([board]) == {board: (mapped,)}
    defect = mapped.defect
    assert (defect.kind, defect.face, defect.outline) == (
        DefectKind.BARK_INCLUSION,
        Face.BOTH,
        ((1800, 100), (1860.25, 100), (1850, 130)),
    )
    assert (defect.depth_mm, defect.opening_mm, mapped.note) == (None, 0.4, "near the heart")
    assert (mapped.state, mapped.origin, mapped.version, mapped.who, mapped.cause) == (
        DefectState.OPEN,
        DefectOrigin.PHOTO,
        1,
        "Ada",
        "photo 7",
    )


def test_an_edit_keeps_what_it_was(yard: Yard) -> None:
    with yard.open_work(who="Ada") as work:
        (board,) = receive(work)
        id_ = work.defects.add(board, DefectKind.CRACK, Face.A, BOX).defect.id
        work.commit()
    with yard.open_work(who="Bo") as work:
        edited = work.defects.edit(id_, cause="looked closer", kind=DefectKind.CHECK, depth_mm=4.0, note="x")
        work.commit()

    assert (edited.defect.kind, edited.defect.depth_mm, edited.note, edited.version) == (
        DefectKind.CHECK,
        4.0,
        "x",
        2,
    )
    assert edited.defect.outline == BOX
    with yard.open_work(reading=True) as work:
        was, now = work.defects.history(id_)
        assert (was.defect.kind, was.who, now.defect.kind, now.who, now.cause) == (
            DefectKind.CRACK,
            "Ada",
            DefectKind.CHECK,
            "Bo",
            "looked closer",
        )
        assert work.pieces.get(board).version == 3


def test_the_same_again_is_no_edit(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work)
        id_ = work.defects.add(board, DefectKind.CRACK, Face.A, BOX).defect.id

        assert work.defects.edit(id_, kind=DefectKind.CRACK).version == 1
        assert work.pieces.get(board).version == 2


def test_a_removed_defect_is_off_the_map_but_not_forgotten(yard: Yard) -> None:
    with yard.open_work() as work:
        (board,) = receive(work)
        id_ = work.defects.add(board, DefectKind.CRACK, Face.A, BOX).defect.id

        work.defects.remove(id_, cause="planed away")

        assert work.defects.of_piece(board) == ()
        assert [each.removed for each in work.defects.of_piece(board, removed=True)] == [True]
        assert [each.removed for each in work.defects.history(id_)] == [False, True]
        with pytest.raises(Refused, match="off the map already"):
            work.defects.edit(id_, note="still there?")
        assert work.defects.add(board, DefectKind.CRACK, Face.A, BOX).defect.id == f"{board}/2"


@pytest.mark.parametrize("id_", ["SG-0001/9", "SG-0001", "/1", "SG-0001/x", "SG-0001/²", "SG-0001/-1", ""])
def test_a_defect_that_is_not_there_is_not_found(sqlite_yard: Yard, id_: str) -> None:
    with sqlite_yard.open_work() as work:
        receive(work)
        with pytest.raises(NotFound):
            work.defects.get(id_)


def test_a_near_id_is_offered(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        (board,) = receive(work)
        work.defects.add(board, DefectKind.CRACK, Face.A, BOX)
        with pytest.raises(NotFound, match="Did you mean SG-0001/1"):
            work.defects.get("SG-0001/2")


def test_a_look_back_shows_the_map_as_it_was(yard: Yard) -> None:
    def on(days: int) -> list[tuple[str, float | None]]:
        with yard.open_work(reading=True) as work:
            found = work.defects.of_pieces_on([board, clear], (NOON + timedelta(days=days)).date())
        assert clear not in found
        return [(each.defect.kind, each.defect.depth_mm) for each in found.get(board, ())]

    with yard.open_work() as work:
        board, clear = receive(work, 2)
        id_ = work.defects.add(board, DefectKind.CRACK, Face.A, BOX).defect.id
        work.commit()
    with yard.open_work(now=NOON + timedelta(days=2)) as work:
        work.defects.edit(id_, depth_mm=4.0)
        work.commit()
    with yard.open_work(now=NOON + timedelta(days=5)) as work:
        work.defects.remove(id_)
        work.commit()

    assert on(-1) == on(5) == []
    assert on(0) == on(1) == [(DefectKind.CRACK, None)]
    assert on(2) == on(4) == [(DefectKind.CRACK, 4.0)]
