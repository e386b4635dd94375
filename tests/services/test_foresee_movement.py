from datetime import date

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.services.allocate_plan import allocate_plan
from stockyard.services.climate_log import import_climate
from stockyard.services.correct_board import Correction, correct_board
from stockyard.services.cut_plan import cut_plan
from stockyard.services.foresee_movement import foresee_movement
from stockyard.services.keep_species import keep_species, own_figure
from stockyard.services.read_moisture import add_reading
from tests.stocking import a_plan, keep_plan, receive

# Equation (4-5) of the Wood Handbook at 20 °C: 50 % holds wood at 9.271 %, 75 % at 14.451 % (read in a public
# fact sheet to 0.01).
DRY, DAMP = (20.0, 50.0), (20.0, 75.0)
LOW, HIGH = 9.271, 14.451
TANGENTIAL, RADIAL = 0.004, 0.002
STAVE_MM = 130


def planned(yard: Yard, boards: int = 2, species: str = "creek plum") -> tuple[int, list[str]]:
    """A panel of staves 130 mm wide in a wood whose figures the workshop measured itself."""
    figures = () if species != "creek plum" else (
        own_figure("movement tangential", TANGENTIAL, "our own strips"),
        own_figure("movement radial", RADIAL, "our own strips"),
    )  # fmt: skip
    keep_species(yard.open_work, species, figures=figures, note="for this test")
    with yard.open_work() as work:
        numbers = receive(work, boards, species=species)
        plan = keep_plan(work, a_plan(numbers))
        work.commit()
    return plan, numbers


def swing(rate: float) -> float:
    """Wood Handbook, equation (13-2): width x coefficient x change of moisture."""
    return STAVE_MM * rate * (HIGH - LOW)


def test_a_panel_moves_by_the_sum_of_its_staves(yard: Yard) -> None:
    plan, numbers = planned(yard, 3)
    for number, angle in zip(numbers, (0, 90, 45), strict=True):
        correct_board(yard.open_work, number, Correction(ring_angle_deg=angle))

    (panel,) = foresee_movement(yard.open_work, plan, dry=DRY, damp=DAMP).panels

    # At 45 degrees both directions count half: cos2 and sin2 are equal.
    expected = swing(TANGENTIAL) + swing(RADIAL) + swing((TANGENTIAL + RADIAL) / 2)
    assert panel.most.swing_mm == pytest.approx(expected, abs=0.002)
    assert panel.most.width_mm == 3 * STAVE_MM
    assert (panel.least, panel.unknown) == (None, ())


def test_where_sawing_is_not_known_both_answers_are_given(yard: Yard) -> None:
    plan, numbers = planned(yard)
    correct_board(yard.open_work, numbers[0], Correction(ring_angle_deg=90))

    (panel,) = foresee_movement(yard.open_work, plan, dry=DRY, damp=DAMP, shank_mm=5).panels

    assert panel.unknown == (numbers[1],)
    assert panel.least is not None
    assert panel.least.swing_mm == pytest.approx(2 * swing(RADIAL), abs=0.002)
    assert panel.most.swing_mm == pytest.approx(swing(RADIAL) + swing(TANGENTIAL), abs=0.002)
    # Half of 4.04 mm, rounded up to half a millimetre; the slot is the shank and that on both sides.
    assert (panel.most.clearance_each_side_mm, panel.most.slot_mm) == (2.5, 10)


def test_spread_and_difference_from_the_destination_are_judged(yard: Yard) -> None:
    plan, numbers = planned(yard)
    for number, percent in zip(numbers, (11.0, 14.5), strict=True):
        add_reading(yard.open_work, number, percent, meter="ovendry")

    glued = foresee_movement(yard.open_work, plan, dry=DRY, damp=DAMP).panels[0].glued

    middle = (LOW + HIGH) / 2
    assert glued.spread_pct == pytest.approx(3.5)
    assert glued.from_destination_pct == pytest.approx(14.5 - middle, abs=0.001)
    assert not glued.ready
    assert len(glued.why_not) == 2


def test_a_cut_stave_is_known_by_its_own_readings_and_rings(yard: Yard) -> None:
    plan, numbers = planned(yard)
    # How a board was sawn is nothing a plan rests on, so it may still be allocated.
    correct_board(yard.open_work, numbers[0], Correction(ring_angle_deg=90))
    allocate_plan(yard.open_work, plan)
    add_reading(yard.open_work, numbers[0], 14.0, meter="ovendry", taken_on=date(2026, 2, 20))
    staves = cut_plan(yard.open_work, plan).staves
    add_reading(yard.open_work, staves[0].number, 11.0, meter="ovendry")

    (panel,) = foresee_movement(yard.open_work, plan, dry=DRY, damp=DAMP).panels

    assert [stave.board for stave in panel.most.staves] == [stave.number for stave in staves]
    assert panel.most.staves[0].rate.per_pct == RADIAL
    assert panel.glued.from_destination_pct == pytest.approx(11.0 - (LOW + HIGH) / 2, abs=0.001)
    assert panel.most.staves[0].driest_mm == pytest.approx(STAVE_MM * RADIAL * (LOW - 11.0), abs=0.001)


def test_a_logged_room_gives_its_driest_and_dampest_month(yard: Yard) -> None:
    plan, _ = planned(yard)
    rows = [f"2025-{month:02}-{day:02} 12:00,20,{50 if month < 7 else 75}" for month in (6, 7, 8)
            for day in range(1, 31)]  # fmt: skip
    content = "Time,Temperature (°C),Humidity (%RH)\n" + "\n".join(rows)
    import_climate(yard.open_work, "hall", content.encode(), "hall.csv", zone="Australia/Brisbane")

    sheet = foresee_movement(yard.open_work, plan, to="hall")

    assert sheet.destination.span.low_pct == pytest.approx(LOW, abs=0.001)
    assert sheet.destination.span.high_pct == pytest.approx(HIGH, abs=0.001)
    assert "the year's span is wider" in sheet.destination.span.note


def test_a_species_without_a_coefficient_is_named_and_not_guessed(sqlite_yard: Yard) -> None:
    plan, numbers = planned(sqlite_yard, species="old shed timber")
    with pytest.raises(BadInput) as refused:
        foresee_movement(sqlite_yard.open_work, plan, dry=DRY, damp=DAMP)

    assert {fault.where for fault in refused.value.faults} == set(numbers)
    assert "No tangential movement is known for old shed timber" in str(refused.value)


def test_a_destination_must_be_told(sqlite_yard: Yard) -> None:
    plan, _ = planned(sqlite_yard)
    for told in ({}, {"dry": DRY}, {"to": "hall", "dry": DRY}):
        with pytest.raises(BadInput):
            foresee_movement(sqlite_yard.open_work, plan, **told)  # type: ignore[arg-type]
    with pytest.raises(NotFound):
        foresee_movement(sqlite_yard.open_work, plan, to="hall")
    with pytest.raises(NotFound):
        foresee_movement(sqlite_yard.open_work, 9, dry=DRY, damp=DAMP)
