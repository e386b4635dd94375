"""Moisture content by weighing, and the two bases it is given on."""

from math import isfinite

from stockyard.errors import BadInput, Fault


def moisture_content_pct(wet_g: float, dry_g: float) -> float:
    """Moisture content on the dry basis, the basis used everywhere in Stockyard. [percent of ovendry mass]

    wet_g: mass as cut. dry_g: constant mass after drying at 103 +/- 2 °C. Both in the same unit, > 0.
    Source: Wood Handbook, equation (4-2); AS/NZS 1080.1 and EN 13183-1 define the same ratio.
    Raises BadInput when the dry mass is not above 0 or is the greater.
    """
    faults = []
    if not (isfinite(dry_g) and dry_g > 0):
        faults.append(Fault("ovendry mass", "above 0", f"{dry_g:g}"))
    elif not (isfinite(wet_g) and wet_g >= dry_g):
        faults.append(Fault("wet mass", f"at least the ovendry mass of {dry_g:g}", f"{wet_g:g}"))
    if faults:
        raise BadInput("These masses give no moisture content.", faults)
    return (wet_g - dry_g) / dry_g * 100


def from_wet_basis(wet_basis_pct: float) -> float:
    """Moisture content on the dry basis from the share of the wet mass. [percent]

    wet_basis_pct: 0 <= it < 100. Raises BadInput.
    """
    if not (isfinite(wet_basis_pct) and 0 <= wet_basis_pct < 100):
        raise BadInput(
            "Moisture on the wet basis is a share of the whole.",
            [Fault("wet-basis moisture", "at least 0 and below 100 %", f"{wet_basis_pct:g}")],
        )
    return wet_basis_pct / (100 - wet_basis_pct) * 100


def to_wet_basis(moisture_pct: float) -> float:
    """The share of the wet mass that is water, from moisture content on the dry basis. [percent]"""
    if not (isfinite(moisture_pct) and moisture_pct >= 0):
        raise BadInput(
            "Moisture content is not negative.",
            [Fault("moisture content", "0 % or more", f"{moisture_pct:g}")],
        )
    return moisture_pct / (100 + moisture_pct) * 100


def ovendry_mass(mass: float, moisture_pct: float) -> float:
    """What a piece of known moisture content would weigh ovendry. [unit of `mass`]

    For a sample board: weighed now, sampled for moisture now, followed by weight afterwards.
    """
    if not (isfinite(mass) and mass > 0 and isfinite(moisture_pct) and moisture_pct >= 0):
        raise BadInput(
            "An ovendry mass needs a mass and a moisture content.",
            [Fault("mass, moisture content", "above 0; 0 % or more", f"{mass:g}, {moisture_pct:g}")],
        )
    return mass / (1 + moisture_pct / 100)


def mass_kg(length_mm: float, width_mm: float, thickness_mm: float, density_kg_m3: float) -> float:
    """What a board weighs, air dry, by its volume and its species' density at 12 %. [kg]"""
    return length_mm * width_mm * thickness_mm * 1e-9 * density_kg_m3


def density_from_specific_gravity(gravity_at_12: float) -> float:
    """Air-dry density from the handbook's specific gravity (ovendry mass, volume at 12 %). [kg/m3]

    Source: Wood Handbook, chapter 4: 1000 (1 + M/100) G at M = 12.
    """
    return 1000 * 1.12 * gravity_at_12
