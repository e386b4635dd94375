from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from functools import partial

import pytest

from stockyard.errors import BadInput
from stockyard.records import Yard
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.read_moisture import add_reading
from stockyard.services.report_holdings import holdings_on, report_holdings
from stockyard.timber import DefectKind, Face
from tests.services.yards import SPOTTED_GUM, receive


def test_clear_volume_is_gross_less_the_boxes_of_open_weakening_defects(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM)
    for kind, box in (
        (DefectKind.DECAY, (0, 0, 240, 180)),
        (DefectKind.CRACK, (120, 0, 360, 180)),  # overlaps: counted once
        (DefectKind.SOUND_KNOT, (1000, 0, 1240, 180)),  # does not weaken
    ):
        add_defect(yard.open_work, "SG-0001", Sketch(kind=kind, face=Face.A, box=box))
    (holding,) = holdings_on(yard.open_work)
    assert holding.gross_mm3 == 2400 * 180 * 32
    assert holding.clear_mm3 == (2400 - 360) * 180 * 32


def test_a_report_of_a_past_day_shows_that_day(yard: Yard) -> None:
    then = datetime(2026, 2, 10, 9, 0, tzinfo=timezone(timedelta(hours=10)))
    receive(yard, SPOTTED_GUM, docket="1", day=date(2026, 2, 2))
    receive(yard, SPOTTED_GUM, docket="2", day=date(2026, 2, 20))
    earlier = partial(yard.open_work, now=then)
    add_defect(earlier, "SG-0001", Sketch(kind=DefectKind.DECAY, face=Face.A, box=(0, 0, 1200, 180)))
    correct_board(yard.open_work, "SG-0001", Correction(length_mm=2000))

    def total(day: date | None) -> tuple[object, ...]:
        row = report_holdings(yard.open_work, [], day).rows[-1]
        return row["pieces"], row["gross_m3"], row["clear_m3"], row["worth"]

    whole, half = Decimal("0.0138"), Decimal("0.0069")
    assert total(date(2026, 2, 1)) == (0, 0, 0, 0)
    assert total(date(2026, 2, 5)) == (1, whole, whole, Decimal("48.00"))
    assert total(date(2026, 2, 15)) == (1, whole, half, Decimal("48.00"))
    assert total(date(2026, 2, 25))[0] == 2
    assert total(None)[1] == Decimal("0.0253")  # 2000 and 2400 x 180 x 32 mm


def test_the_report_reconciles_with_the_boards(yard: Yard) -> None:
    receipt = receive(yard, SPOTTED_GUM, "blackbutt,1800,140,25,31.35", "jarrah,3000,200,50,90.01")
    report = report_holdings(yard.open_work, ["species", "place"])
    assert report.rows[-1]["worth"] == receipt.landed == Decimal("169.36")
    assert sum(row["worth"] for row in report.rows[:-1]) == report.rows[-1]["worth"]
    assert [row["species"] for row in report.rows] == ["blackbutt", "jarrah", "spotted gum", "total"]


def test_an_unknown_group_and_a_day_to_come_are_refused_together(yard: Yard) -> None:
    with pytest.raises(BadInput) as refused:
        report_holdings(yard.open_work, ["colour"], date(2030, 1, 1))
    assert len(refused.value.faults) == 2


def test_stock_is_told_by_section_age_and_moisture(yard: Yard) -> None:
    receive(yard, SPOTTED_GUM, SPOTTED_GUM, "blackbutt,2000,100,25,20.00", docket="1", day=date(2025, 6, 2))
    receive(yard, "spotted gum,1200,180,32,24.00", docket="2", day=date(2026, 2, 20))
    add_reading(yard.open_work, "SG-0001", 11, taken_on=date(2026, 2, 25))
    add_reading(yard.open_work, "SG-0003", 19, taken_on=date(2026, 2, 25))
    add_reading(yard.open_work, "SG-0003", 7.5, meter="ovendry", taken_on=date(2026, 3, 1))

    def told(by: str, figure: str, as_of: date | None = None) -> dict[object, object]:
        return {row[by]: row[figure] for row in report_holdings(yard.open_work, (by,), as_of).rows[:-1]}

    assert told("section", "lineal_m") == {"100 x 25": Decimal("2.00"), "180 x 32": Decimal("6.00")}
    # By the default of 8 to 14 percent that jobs allow.
    assert told("moisture", "pieces") == {"8 to 14 %": 1, "below 8 %": 1, "not read": 2}
    assert told("moisture", "pieces", date(2026, 2, 28))["above 14 %"] == 1
    assert sorted(told("age", "pieces").values(), key=str) == [1, 3]
    assert told("kind", "pieces") == {"board": 4}
