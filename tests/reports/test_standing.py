from dataclasses import replace
from datetime import date
from decimal import Decimal

from stockyard.reports.facts import StandingPiece
from stockyard.reports.standing import age_report, moisture_report, stock_report

TODAY = date(2026, 6, 30)
PIECE = StandingPiece(
    "SG-0002", "board", "spotted gum", 2400.0, 180.0, 32.0, "rack 1", "free", "Riverbend Mill", "7",
    date(2026, 4, 1), 13_824_000, Decimal("48.00"), 11.5, date(2026, 5, 1),
)  # fmt: skip


def test_the_stock_list_has_every_piece_by_number_and_adds_up() -> None:
    made = stock_report([PIECE, replace(PIECE, number="SG-0001", moisture_pct=None)], TODAY, "AUD")

    assert [row[0] for row in made.rows] == ["SG-0001", "SG-0002"]
    assert [row[11] for row in made.rows] == [None, 11.5]
    assert made.foot == {"gross_m3": Decimal("0.027648"), "worth": Decimal("96.00")}


def test_age_is_told_in_classes_whose_bounds_belong_to_the_younger() -> None:
    days = {"a": date(2026, 4, 1), "b": date(2026, 3, 31), "c": date(2024, 6, 30), "d": date(2024, 6, 29)}
    pieces = [replace(PIECE, number=name, arrived=day) for name, day in days.items()]

    made = age_report(pieces, TODAY, "AUD").frame

    assert list(zip(made["age"], made["oldest"], strict=True)) == [
        ("to 90 days", days["a"]),
        ("91 to 180 days", days["b"]),
        ("1 to 2 years", days["c"]),
        ("over 2 years", days["d"]),
    ]
    assert sum(made["worth"]) == Decimal("192.00")


def test_moisture_is_told_by_docket_and_the_unread_counted() -> None:
    others = [
        replace(PIECE, moisture_pct=14.0, moisture_on=date(2026, 6, 2)),
        replace(PIECE, moisture_pct=None, moisture_on=None),
    ]

    (row,) = moisture_report([PIECE, *others], TODAY, "AUD").rows

    assert row == (
        "7",
        "Riverbend Mill",
        "spotted gum",
        3,
        1,
        11.5,
        12.75,
        14.0,
        "12",  # mean 12.75 and both of two within 8.4 to 15.6: EN 14298 as quoted
        date(2026, 5, 1),
        date(2026, 6, 2),
    )


def test_nothing_on_hand_is_an_empty_report() -> None:
    for make in (stock_report, age_report, moisture_report):
        assert make([], TODAY, "AUD").rows == []
