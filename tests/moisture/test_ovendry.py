import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.moisture.ovendry import (
    density_from_specific_gravity,
    from_wet_basis,
    mass_kg,
    moisture_content_pct,
    ovendry_mass,
    to_wet_basis,
)
from tests.published import published


@pytest.mark.parametrize("row", published("moisture", "moisture_content.csv"))
def test_weighing_gives_the_published_moisture_content(row):
    value = moisture_content_pct(float(row["wet_g"]), float(row["dry_g"]))

    assert value == pytest.approx(float(row["moisture_pct"]), abs=0.01)


@pytest.mark.parametrize("row", published("moisture", "wet_basis.csv"))
def test_the_wet_basis_is_another_number(row):
    dry = from_wet_basis(float(row["wet_basis_pct"]))

    assert dry == pytest.approx(float(row["dry_basis_pct"]), abs=0.05)
    assert to_wet_basis(dry) == pytest.approx(float(row["wet_basis_pct"]))


@pytest.mark.parametrize(
    ("wet", "dry"),
    [(99, 100), (100, 0), (100, -5), (float("nan"), 100), (100, float("nan")), (float("inf"), 1)],
)
def test_masses_that_cannot_be_are_an_error_and_no_number(wet, dry):
    with pytest.raises(BadInput, match="no moisture content"):
        moisture_content_pct(wet, dry)


@pytest.mark.parametrize("share", [100, -1, 150, float("nan")])
def test_a_wet_basis_share_that_cannot_be_is_refused(share):
    with pytest.raises(BadInput, match="share of the whole"):
        from_wet_basis(share)


def test_a_sample_board_is_followed_by_its_weight():
    # 5000 g at 14.6 %: ovendry 4363.0 g (computed from the definition).
    dry = ovendry_mass(5000, 14.6)

    assert dry == pytest.approx(4363.0, abs=0.1)
    assert moisture_content_pct(5000, dry) == pytest.approx(14.6)


@given(st.floats(1, 1e5), st.floats(0, 200))
def test_weight_and_moisture_go_there_and_back(mass, moisture):
    assert moisture_content_pct(mass, ovendry_mass(mass, moisture)) == pytest.approx(moisture, abs=1e-6)


def test_a_spotted_gum_board_weighs_what_its_published_density_says():
    # 1010 kg/m3: Queensland Government, spotted gum (read); the product is computed.
    assert mass_kg(2400, 200, 50, 1010) == pytest.approx(24.24, abs=0.01)


@pytest.mark.parametrize("row", published("moisture", "volume_per_tonne.csv"))
def test_cubic_metres_to_the_tonne_are_as_queensland_prints_them(row):
    tonnes = mass_kg(1000, 1000, 1000, float(row["density_kg_m3"])) / 1000

    assert 1 / tonnes == pytest.approx(float(row["m3_per_tonne"]), abs=0.06)


def test_specific_gravity_becomes_air_dry_density_by_the_water_it_holds():
    # An oak of gravity 0.68 at 12 %: 680 kg of wood and 12 % of that in water to the cubic metre.
    assert density_from_specific_gravity(0.68) == pytest.approx(680 + 81.6)
