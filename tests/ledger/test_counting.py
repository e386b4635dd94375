from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.ledger import CountFindings, Remeasured, count_findings
from stockyard.timber.piece import Piece
from stockyard.timber.stocktake import Scan, Seen, Size

SIZE: Size = (2400.0, 180.0, 32.0)


def piece(number: str, place: str = "rack A", on_hand: bool = True, size: Size = SIZE) -> Piece:
    return Piece(number, "spotted gum", *size, place=place, on_hand=on_hand, value=Decimal("48.00"))


def scan(number: str, place: str = "rack A", on_hand: bool = True, **facts: Any) -> Scan:
    return Scan(number, seen=Seen(on_hand, place, SIZE), **facts)


def judge(scans: list[Scan], pieces: list[Piece], expected: str = "", touched: str = "") -> CountFindings:
    known = {each.number: each for each in pieces}
    return count_findings("rack A", expected.split(), scans, known, touched.split())


def test_a_board_is_found_missing_misplaced_or_unknown() -> None:
    found = judge(
        [scan("SG-1"), scan("SG-3", place="rack B"), Scan("SG-9")],
        [piece("SG-1"), piece("SG-2"), piece("SG-3", place="rack B")],
        expected="SG-1 SG-2",
    )

    assert found == CountFindings(found=("SG-1",), missing=("SG-2",), misplaced=("SG-3",), unknown=("SG-9",))


def test_what_moved_or_was_cut_while_the_count_was_open_is_not_missing() -> None:
    found = judge(
        [],
        [piece("SG-1", on_hand=False), piece("SG-2", place="bench"), piece("SG-3")],
        expected="SG-1 SG-2 SG-3",
        touched="SG-1 SG-2 SG-3",
    )

    assert found == CountFindings(meanwhile=("SG-1", "SG-2", "SG-3"))


def test_a_board_cut_after_it_was_counted_is_not_gone_but_one_the_books_had_ended_before_is() -> None:
    found = judge(
        [scan("SG-1"), scan("SG-2", on_hand=False)],
        [piece("SG-1", on_hand=False), piece("SG-2", on_hand=False)],
    )

    assert (found.meanwhile, found.gone) == (("SG-1",), ("SG-2",))


def test_a_board_received_after_its_number_was_read_is_found() -> None:
    assert judge([Scan("SG-1")], [piece("SG-1")]).found == ("SG-1",)


def test_where_the_books_moved_a_board_after_it_was_read_theirs_is_the_later_word() -> None:
    elsewhere = judge([scan("SG-1", place="rack B")], [piece("SG-1", place="rack C")])
    put_right = judge([scan("SG-1", place="rack B")], [piece("SG-1", place="rack A")])
    taken_away = judge([scan("SG-1", place="rack A")], [piece("SG-1", place="rack C")])

    assert elsewhere.meanwhile == put_right.found == taken_away.found == ("SG-1",)


def test_a_measurement_counts_unless_the_books_were_corrected_after_it() -> None:
    short: Size = (2300.0, 180.0, 32.0)
    measured = judge([scan("SG-1", size_mm=short), scan("SG-1")], [piece("SG-1")])
    overtaken = judge([scan("SG-1", size_mm=short)], [piece("SG-1", size=(2350.0, 180.0, 32.0))])
    the_same = judge([scan("SG-1", size_mm=SIZE)], [piece("SG-1")])

    assert measured.remeasured == (Remeasured("SG-1", SIZE, short),)
    assert overtaken.remeasured == the_same.remeasured == ()


def test_a_reading_taken_back_was_never_made() -> None:
    scans = [scan("SG-1", size_mm=(1.0, 1.0, 1.0)), Scan("SG-1", counted=False), Scan("SG-9")]
    scans.append(Scan("SG-9", counted=False))

    assert judge(scans, [piece("SG-1")], expected="SG-1") == CountFindings(missing=("SG-1",))


NUMBERS = [f"SG-{n}" for n in range(6)]
PLACES = st.sampled_from(["rack A", "rack B"])
SCANS = st.builds(
    Scan,
    st.sampled_from(NUMBERS),
    st.booleans(),
    seen=st.none() | st.builds(Seen, st.booleans(), PLACES, st.just(SIZE)),
)
PIECES = st.fixed_dictionaries(
    {}, optional={number: st.builds(piece, st.just(number), PLACES, st.booleans()) for number in NUMBERS}
)


@settings(max_examples=200, deadline=None)
@given(st.lists(SCANS, max_size=12), PIECES, st.data())
def test_every_number_is_told_once_and_only_what_stands_there_untouched_is_missing(
    scans: list[Scan], pieces: dict[str, Piece], data: st.DataObject
) -> None:
    some = st.sets(st.sampled_from(sorted(pieces))) if pieces else st.just(set())
    expected, touched = data.draw(some), data.draw(some)

    found = count_findings("rack A", expected, scans, pieces, touched)

    told = [*found.found, *found.missing, *found.misplaced, *found.unknown, *found.gone, *found.meanwhile]
    last = {each.number: each.counted for each in scans}
    assert sorted(told) == sorted({number for number, counted in last.items() if counted} | expected)
    assert set(found.missing) == {
        number
        for number in expected - touched
        if not last.get(number, False) and pieces[number].on_hand and pieces[number].place == "rack A"
    }
