import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput, NotFound
from stockyard.moisture.equilibrium import equilibrium_pct
from stockyard.moisture.movement import (
    Grain,
    Sawn,
    StaveWidth,
    coefficient_from_ovendry,
    dimensional_change,
    half_up,
    movement_rate,
    panel_movement,
)
from stockyard.timber.species import Basis, Evidence, Figure, Quantity, Species, known_species
from tests.published import published

BACK, QUARTER = Grain(Sawn.BACKSAWN), Grain(Sawn.QUARTERSAWN)


@pytest.mark.parametrize(
    "row", published("moisture", "movement.csv"), ids=lambda r: f"{r['width']} {r['per_pct']}"
)
def test_a_board_moves_as_published_examples_say(row):
    width, per_pct = float(row["width"]), float(row["per_pct"])
    low, high = float(row["from_pct"]), float(row["to_pct"])

    change = dimensional_change(width, per_pct, low, high)

    assert change == pytest.approx(float(row["change"]), abs=float(row["tolerance"]))
    assert dimensional_change(width, per_pct, high, low) == -change  # drying: the same, and narrower


@pytest.mark.parametrize("row", published("moisture", "coefficients.csv"), ids=lambda r: r["species"])
def test_the_relation_reproduces_the_printed_coefficients(row):
    assert coefficient_from_ovendry(float(row["shrinkage_pct"])) == pytest.approx(
        float(row["per_pct"]), abs=6e-6
    )


@pytest.mark.parametrize(
    ("species", "printed", "related"),
    [("American white oak", 0.00365, 0.00376), ("northern red oak", 0.00369, 0.00304)],
)
def test_a_printed_figure_is_used_before_the_relation(species, printed, related):
    # Table 13-5 prints these for commercial groups, and the relation does not reproduce them (computed).
    total = known_species().named(species).figure(Quantity.SHRINKAGE_TANGENTIAL)

    assert movement_rate(species, BACK).per_pct == printed
    assert coefficient_from_ovendry(total.value) == pytest.approx(related, abs=6e-6)
    assert "commercial group" in movement_rate(species, BACK).note


def test_the_relation_serves_where_only_total_shrinkage_is_known_and_says_so():
    alder = Species(
        "red alder",
        figures=(
            Figure(Quantity.SHRINKAGE_TANGENTIAL, 7.3, Basis.GREEN_TO_OVENDRY, "Table 4-3", Evidence.READ),
        ),
    )
    rate = movement_rate(alder, BACK)

    assert rate.per_pct == pytest.approx(0.00256, abs=6e-6)
    assert rate.basis == Basis.FROM_OVENDRY
    assert "Computed from green-to-ovendry" in rate.note


def test_shrinkage_from_green_to_12_is_never_made_into_movement():
    marri = known_species().named("marri")

    assert marri.figure(Quantity.SHRINKAGE_TANGENTIAL).basis is Basis.GREEN_TO_12
    with pytest.raises(BadInput, match="No tangential movement is known for marri"):
        movement_rate(marri, BACK)


@pytest.mark.parametrize("species", ["karri", "river red gum", "Queensland maple"])
def test_a_species_without_a_figure_is_a_sentence_and_no_guess(species):
    with pytest.raises(BadInput, match=f"known for {species}; measure it"):
        movement_rate(species, BACK)


def test_an_unknown_species_is_not_found():
    with pytest.raises(NotFound, match="blackbut'"):
        movement_rate("blackbut", BACK)


def test_a_conflict_of_sources_shows_as_a_range():
    rate = movement_rate("jarrah", BACK)

    assert (rate.per_pct, rate.low, rate.high) == (0.003, 0.003, 0.00396)
    assert rate.basis == Basis.UNIT_SHRINKAGE


def test_a_trade_name_takes_the_most_of_its_species():
    rate = movement_rate("Tasmanian oak", BACK)

    assert (rate.low, rate.per_pct, rate.high) == (0.0035, 0.0036, 0.0036)
    assert "trade name" in rate.note


def test_without_a_radial_figure_the_tangential_one_stands_in_and_says_so():
    rate = movement_rate("red cedar", QUARTER)

    assert rate.per_pct == 0.002
    assert "No radial figure" in rate.note


def test_how_it_was_sawn_not_being_known_is_said():
    rate = movement_rate("brush box")

    assert rate.per_pct == 0.0038
    assert "taken as backsawn" in rate.note


def test_rings_at_an_angle_blend_between_the_two():
    assert movement_rate("brush box", Grain(ring_angle_deg=0)).per_pct == 0.0038
    assert movement_rate("brush box", Grain(ring_angle_deg=90)).per_pct == 0.0024
    assert movement_rate("brush box", Grain(ring_angle_deg=45)).per_pct == pytest.approx(0.0031)
    assert movement_rate("brush box", Grain(ring_angle_deg=30)).per_pct == pytest.approx(
        0.75 * 0.0038 + 0.25 * 0.0024
    )


@given(st.floats(0, 90), st.floats(0, 90))
def test_steeper_rings_never_move_more(first, second):
    flat, steep = sorted((first, second))

    assert (
        movement_rate("brush box", Grain(ring_angle_deg=steep)).per_pct
        <= movement_rate("brush box", Grain(ring_angle_deg=flat)).per_pct + 1e-15
    )


def test_rings_below_45_degrees_are_backsawn():
    # Queensland Government fact sheets, timberanswers.org (read).
    assert Grain(ring_angle_deg=44.9).trade_name is Sawn.BACKSAWN
    assert Grain(ring_angle_deg=45).trade_name is Sawn.QUARTERSAWN
    assert QUARTER.trade_name is Sawn.QUARTERSAWN


@pytest.mark.parametrize("angle", [-1, 91, float("nan")])
def test_no_ring_meets_a_face_at_such_an_angle(angle):
    with pytest.raises(BadInput, match="0 to 90"):
        Grain(ring_angle_deg=angle)


def test_a_room_from_45_to_65_percent_moves_a_blackbutt_top_as_worked():
    # 900 mm of blackbutt at 20 °C (unit shrinkage 0.37 %, Queensland Government, read): 8.49 to 12.00 % and
    # 11.7 mm (computed).
    low, high = equilibrium_pct(20, 0.45), equilibrium_pct(20, 0.65)
    staves = [StaveWidth(f"BB-{n}", "blackbutt", 100, 10.0, BACK) for n in range(9)]
    panel = panel_movement(staves, low, high)

    assert (low, high) == pytest.approx((8.49, 12.00), abs=0.005)
    assert panel.width_mm == 900
    assert panel.swing_mm == pytest.approx(11.7, abs=0.05)
    assert panel.driest_mm < 0 < panel.dampest_mm
    assert panel.dampest_mm - panel.driest_mm == pytest.approx(panel.swing_mm)


def test_a_panel_is_the_sum_of_its_staves_each_as_it_was_sawn():
    # Brush box, 0.38 % backsawn and 0.24 % quartersawn (Queensland Government, read): 450 mm of each over
    # 3 points move 5.13 + 3.24 mm (computed).
    staves = [StaveWidth("BX-1", "brush box", 450, 9, BACK), StaveWidth("BX-2", "brush box", 450, 9, QUARTER)]
    panel = panel_movement(staves, 9, 12)

    assert [stave.dampest_mm for stave in panel.staves] == pytest.approx([5.13, 3.24])
    assert panel.swing_mm == pytest.approx(8.37)
    assert panel.clearance_each_side_mm == 4.5  # 4.185, rounded up to half a millimetre
    assert panel.slot_mm == 5 + 9


def test_clearance_is_for_the_most_that_sources_say():
    panel = panel_movement([StaveWidth("JA-1", "jarrah", 1000, 10, BACK)], 9, 12)

    assert panel.swing_mm == pytest.approx(9.0)
    assert (panel.swing_low_mm, panel.swing_high_mm) == pytest.approx((9.0, 11.88))
    assert panel.clearance_each_side_mm == 6.0


def test_what_is_assumed_of_a_panel_is_said_once():
    staves = [StaveWidth(f"SG-{n}", "spotted gum", 100, None) for n in range(2)]
    panel = panel_movement(staves, 5, 12)

    assert panel.notes == (
        "SG-0, SG-1: No reading; taken as glued at 8.5 %.",
        "SG-0, SG-1: How it was sawn is not known; taken as backsawn, which moves most.",
        "SG-0, SG-1: Coefficients are meant for 6 to 14 %, which this leaves.",
    )


def test_every_stave_without_a_figure_is_named():
    staves = [StaveWidth("KA-1", "karri", 100, 10, BACK), StaveWidth("MA-1", "marri", 100, 10, BACK)]

    with pytest.raises(BadInput) as refusal:
        panel_movement(staves, 9, 12)

    assert [fault.where for fault in refusal.value.faults] == ["KA-1", "MA-1"]


@pytest.mark.parametrize(("low", "high"), [(12, 9), (0, 9), (9, float("nan"))])
def test_an_equilibrium_out_of_order_is_refused(low, high):
    with pytest.raises(BadInput, match="out of order"):
        panel_movement([StaveWidth("BB-1", "blackbutt", 100, 10, BACK)], low, high)


def test_an_empty_panel_is_refused():
    with pytest.raises(BadInput, match="at least one stave"):
        panel_movement([], 9, 12)


def test_clearances_are_rounded_up_to_half_a_millimetre():
    assert [half_up(x) for x in (0, 0.1, 0.5, 4.185, 4.5, 4.51)] == [0, 0.5, 0.5, 4.5, 4.5, 5.0]


def test_the_workshops_own_figure_is_used():
    own = Figure(Quantity.MOVEMENT_TANGENTIAL, 0.0035, Basis.UNIT_SHRINKAGE, "our own slats")
    table = known_species().adding(known_species().named("karri").with_own(own))

    assert movement_rate("karri", BACK, table).source == "our own slats"
