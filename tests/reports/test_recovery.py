from collections import Counter
from datetime import date
from decimal import Decimal

from stockyard.ledger import reversal
from stockyard.reports.facts import FoundDefect, PieceFacts
from stockyard.reports.recovery import defects_report, offcuts_report, recovery_report
from stockyard.timber.movement import Line, Movement, MovementKind

MAY, JUNE, JULY = date(2026, 5, 4), date(2026, 6, 4), date(2026, 7, 4)
PIECES = {
    name: PieceFacts(kind, "spotted gum", "Riverbend Mill")
    for name, kind in {
        "B1": "board",
        "B2": "board",
        "S1": "stave",
        "O1": "offcut",
        "O2": "offcut",
        "S2": "stave",
    }.items()
}


def cut(number: int, day: date, board: tuple[str, int], *made: tuple[str, int]) -> Movement:
    """A cut of a board; volumes in cm3."""
    lines = [Line(board[0], -1, -1, Decimal(-board[1]), -board[1] * 1000)]
    lines += [Line(name, 1, 0, Decimal(volume), volume * 1000) for name, volume in made]
    return Movement(MovementKind.CUT, tuple(lines), day, id=number)


FIRST = cut(1, MAY, ("B1", 10_000), ("S1", 6_000), ("O1", 2_500))
SECOND = cut(2, JUNE, ("O1", 2_500), ("S2", 2_000))
SPOILED = cut(3, JUNE, ("B2", 20_000), ("O2", 5_000))


def test_recovery_is_staves_of_what_was_cut_and_the_rest_is_waste() -> None:
    made = recovery_report([FIRST, SECOND, SPOILED], PIECES, MAY, JULY, "AUD")

    (row,) = made.frame.to_dict("records")
    assert (row["supplier"], row["species"], row["boards"]) == ("Riverbend Mill", "spotted gum", 3)
    assert [str(row[name].normalize()) for name in ("cut_m3", "staves_m3", "offcuts_m3", "waste_m3")] == [
        "0.0325", "0.008", "0.0075", "0.017",
    ]  # fmt: skip
    assert row["recovery_pct"] == made.foot["recovery_pct"] == Decimal("24.6")  # 8 of 32.5
    assert made.foot["waste_pct"] == Decimal("52.3")  # 17 of 32.5


def test_a_cut_taken_back_is_taken_out_again() -> None:
    back = Movement(MovementKind.REVERSE, reversal(SPOILED, JULY, "").lines, JULY, reverses=3, id=4)
    history = [FIRST, SECOND, SPOILED, back]

    whole = recovery_report(history, PIECES, MAY, JULY, "AUD").frame.to_dict("records")
    without = recovery_report([FIRST, SECOND], PIECES, MAY, JULY, "AUD").frame.to_dict("records")
    offcuts = offcuts_report(history, PIECES, MAY, JULY, "AUD").frame.to_dict("records")

    assert whole == without
    assert offcuts == offcuts_report([FIRST, SECOND], PIECES, MAY, JULY, "AUD").frame.to_dict("records")


def test_offcuts_are_made_used_lost_or_standing() -> None:
    lost = Movement(MovementKind.COUNT, (Line("O2", -1, 0, Decimal(-5000), -5_000_000),), JULY, id=4)

    (row,) = offcuts_report([FIRST, SECOND, SPOILED], PIECES, JUNE, JUNE, "AUD").frame.to_dict("records")
    (late,) = offcuts_report([FIRST, SECOND, SPOILED, lost], PIECES, MAY, JULY, "AUD").frame.to_dict(
        "records"
    )

    assert (row["made"], row["used"], row["lost"], row["standing"], row["worth"]) == (
        1,
        1,
        0,
        1,
        Decimal(5000),
    )
    assert (late["made"], late["used"], late["lost"], late["standing"], late["worth"]) == (
        2,
        1,
        1,
        0,
        Decimal(0),
    )


def test_defects_are_told_by_supplier_and_kind_as_a_share_of_the_boards_delivered() -> None:
    found = [FoundDefect("B1", "Riverbend Mill", "gum_vein"), FoundDefect("B1", "Riverbend Mill", "gum_vein")]
    found.append(FoundDefect("B2", "Tallow Creek Mill", "crack"))

    made = defects_report(found, Counter({"Riverbend Mill": 8, "Tallow Creek Mill": 1}), MAY, JULY, "AUD")

    assert made.rows == [
        ("Riverbend Mill", "gum vein", 8, 1, 2, Decimal("12.5")),
        ("Tallow Creek Mill", "crack", 1, 1, 1, Decimal("100.0")),
    ]
    assert made.foot == {"defects": 3}
