from dataclasses import replace

import pytest

from stockyard.errors import NotFound
from stockyard.records import Yard
from stockyard.timber.rack_query import RackOrder, RackQuery
from tests.stocking import receive


def test_words_are_looked_for_in_everything_said_of_a_piece_whatever_their_case(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 2, place="rack 1")
        receive(work, 1, species="jarrah", place="the loft", note="50% sapwood, O'Brien's")
        for words, expected in {
            ("sg-0001",): ["SG-0001"],
            ("GUM", "rack"): ["SG-0001", "SG-0002"],
            ("50%",): ["JA-0001"],
            ("5_%",): [],
            ("o'brien",): ["JA-0001"],
            ("0001",): [],
        }.items():
            found = work.rack.page(RackQuery(words=words))
            assert [piece.number for piece in found] == expected, words


@pytest.mark.parametrize("order", list(RackOrder))
def test_pages_hold_every_piece_once_in_order(yard: Yard, order: RackOrder) -> None:
    with yard.open_work() as work:
        for n in range(5):
            receive(work, 2, value=f"{n % 2 + 10}.00", length_mm=1000.0 + n % 3, width_mm=90.0 + n % 2)
        whole = work.rack.page(RackQuery(), order, limit=100)
        seen: list[str] = []
        while page := work.rack.page(RackQuery(), order, seen[-1] if seen else None, limit=3):
            seen += [piece.number for piece in page]
    assert seen == [piece.number for piece in whole]
    assert len(set(seen)) == 10


def test_a_page_after_a_piece_that_never_was_is_refused(yard: Yard) -> None:
    with yard.open_work(reading=True) as work, pytest.raises(NotFound):
        work.rack.page(RackQuery(), RackOrder.LONGEST, "SG-0001")


def test_totals_are_of_what_is_asked_for(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 2, value="48.00")
        receive(work, 1, value="10.50", species="jarrah", length_mm=1000.0, width_mm=100.0, thickness_mm=20.0)
        both = work.rack.totals(RackQuery())
        jarrah = work.rack.totals(RackQuery(species=("jarrah",)))
        none = work.rack.totals(replace(RackQuery(), place="nowhere"))
    assert (both.pieces, both.value, both.length_mm) == (3, 106.5, 5800)
    assert (jarrah.pieces, jarrah.volume_mm3) == (1, 2_000_000)
    assert (none.pieces, none.value, none.volume_mm3) == (0, 0, 0)


def test_what_can_be_chosen_from_is_counted(yard: Yard) -> None:
    with yard.open_work() as work:
        receive(work, 2)
        receive(work, 1, species="jarrah", place="loft", thickness_mm=25.0)
        assert work.rack.places() == {"loft": 1, "rack 1": 2}
        assert work.rack.species() == {"jarrah": 1, "spotted gum": 2}
        assert work.rack.thicknesses() == {25.0: 1, 32.0: 2}


def test_the_mark_changes_with_every_fact_and_with_nothing_else(yard: Yard) -> None:
    with yard.open_work() as work:
        number, other = receive(work, 2)
        first = work.rack.mark(number)
        work.pieces.change(other, place="loft")
        assert work.rack.mark(number) == first
        marks = {first}
        for facts in ({"place": "loft"}, {"length_mm": 2300.0}, {"note": "seen"}):
            work.pieces.change(number, **facts)
            marks.add(work.rack.mark(number))
    assert len(marks) == 4
