from itertools import chain

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.timber.species import Basis, Evidence, Figure, Quantity, Species, known_species
from tests.published import published


@pytest.mark.parametrize(
    "row", published("timber", "species_figures.csv"), ids=lambda r: f"{r['species']} {r['quantity']}"
)
def test_a_figure_in_use_is_the_one_its_source_prints(row):
    figure = known_species().named(row["species"]).figure(Quantity(row["quantity"]))

    assert figure is not None
    assert (figure.value, figure.basis) == (float(row["value"]), Basis(row["basis"]))
    assert figure.evidence is Evidence.READ


def test_the_whole_table_is_what_was_written_down_apart_from_it():
    rows = published("timber", "species_whole.csv")
    for row in rows:
        said = known_species().named(row["species"]).says(Quantity(row["quantity"]))
        assert (float(row["value"]), row["evidence"]) in {(f.value, f.evidence.value) for f in said}, row
    assert len(rows) == 198


def test_every_figure_names_its_source_and_how_it_came_here():
    figures = list(chain.from_iterable(species.figures for species in known_species()))

    assert len(figures) > 200
    assert all(figure.source and figure.evidence is not Evidence.OWN for figure in figures)


def test_bases_belong_to_their_quantities():
    lawful = {
        Quantity.DENSITY: {Basis.AIR_DRY},
        Quantity.HARDNESS: {Basis.JANKA},
        Quantity.SHRINKAGE_RADIAL: {Basis.GREEN_TO_12, Basis.GREEN_TO_OVENDRY, Basis.NOT_STATED},
        Quantity.SHRINKAGE_TANGENTIAL: {Basis.GREEN_TO_12, Basis.GREEN_TO_OVENDRY, Basis.NOT_STATED},
        Quantity.MOVEMENT_RADIAL: {Basis.UNIT_SHRINKAGE, Basis.COEFFICIENT, Basis.FROM_OVENDRY},
        Quantity.MOVEMENT_TANGENTIAL: {Basis.UNIT_SHRINKAGE, Basis.COEFFICIENT, Basis.FROM_OVENDRY},
    }

    for species in known_species():
        for figure in species.figures:
            assert figure.basis in lawful[figure.quantity], (species.name, figure)


def test_a_conflict_stays_in_sight_and_the_australian_figure_is_the_one_in_use():
    said = known_species().named("jarrah").conflicts()[Quantity.MOVEMENT_TANGENTIAL]

    assert [(figure.value, figure.basis) for figure in said] == [
        (0.003, Basis.UNIT_SHRINKAGE),
        (0.00396, Basis.COEFFICIENT),
    ]


def test_figures_of_different_bases_are_never_set_against_each_other():
    """Jarrah's 7.4 % to 12 % moisture and 11.0 % to ovendry are both right."""
    for species in known_species():
        for quantity, figures in species.conflicts().items():
            if quantity in (Quantity.SHRINKAGE_RADIAL, Quantity.SHRINKAGE_TANGENTIAL):
                assert len({figure.basis for figure in figures}) == 1, species.name
    assert Quantity.SHRINKAGE_TANGENTIAL not in known_species().named("jarrah").conflicts()
    assert Quantity.SHRINKAGE_RADIAL not in known_species().named("blackwood").conflicts()


def test_only_the_figures_that_differ_on_one_basis_are_named():
    green = [Figure(Quantity.SHRINKAGE_RADIAL, value, Basis.GREEN_TO_12, "a") for value in (3.0, 3.5)]
    ovendry = Figure(Quantity.SHRINKAGE_RADIAL, 5.0, Basis.GREEN_TO_OVENDRY, "b")

    said = Species("test oak", figures=(green[0], ovendry, green[1])).conflicts()

    assert said == {Quantity.SHRINKAGE_RADIAL: tuple(green)}


@pytest.mark.parametrize("name", ["karri", "river red gum", "Queensland maple", "southern silky oak"])
def test_what_is_not_known_is_blank(name):
    species = known_species().named(name)

    assert species.figure(Quantity.SHRINKAGE_TANGENTIAL) is None
    assert species.figure(Quantity.MOVEMENT_TANGENTIAL) is None
    assert "No shrinkage figure" in species.note


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("Spotted Gum", "spotted gum"),
        ("SPOTTED-GUM", "spotted gum"),
        (" flooded  gum ", "rose gum"),
        ("merbau", "kwila"),
        ("Crows Ash", "crow's ash"),
        ("Dunn’s white gum", "Dunn's white gum"),
    ],
)
def test_a_species_is_found_by_any_of_its_names_and_spellings(typed, name):
    assert known_species().named(typed).name == name


def test_an_unknown_name_is_refused_with_near_names():
    with pytest.raises(NotFound) as refusal:
        known_species().named("spoted gum")

    assert refusal.value.near[0] == "spotted gum"


def test_nothing_is_near_to_nonsense():
    assert known_species().near("zzzqqq") == ()
    assert known_species().near("") == ()


def test_names_and_prefixes_tell_species_apart():
    table = list(known_species())
    names = [name.casefold() for species in table for name in (species.name, *species.aliases)]
    prefixes = [species.prefix for species in table]

    assert len(set(names)) == len(names)
    assert len(set(prefixes)) == len(prefixes)
    assert all(prefix.isalpha() and prefix.isupper() and len(prefix) in (2, 3) for prefix in prefixes)


def test_a_trade_name_stands_for_species_that_are_known():
    table = known_species()
    groups = [species for species in table if species.group_of]

    assert {species.name for species in groups} == {"Tasmanian oak", "Victorian ash"}
    assert all(table.named(member).figures for group in groups for member in group.group_of)


def test_the_workshop_adds_a_species_of_its_own():
    own = Species("Huon pine", ("Lagarostrobos franklinii",), prefix="HP")
    table = known_species().adding(own)

    assert table.named("huon pine") == own
    assert len(table) == len(known_species()) + 1
    assert "huon pine" not in known_species()


def test_a_name_of_its_own_goes_before_another_species_alias():
    table = known_species().adding(Species("silky oak", ("Orites excelsus",)))

    assert known_species().named("silky oak").name == "southern silky oak"
    assert table.named("silky oak").botanical == ("Orites excelsus",)


def test_the_workshops_own_figure_goes_before_the_published_ones():
    measured = Figure(Quantity.MOVEMENT_TANGENTIAL, 0.0035, Basis.UNIT_SHRINKAGE, "our own slats, 2024")
    jarrah = known_species().named("jarrah").with_own(measured)
    table = known_species().adding(jarrah)

    assert table.named("jarrah").figure(Quantity.MOVEMENT_TANGENTIAL) == measured
    assert len(table.named("jarrah").says(Quantity.MOVEMENT_TANGENTIAL)) == 3
    assert len(table) == len(known_species())


def test_a_prefix_of_another_species_is_refused():
    with pytest.raises(BadInput, match="SG, used by spotted gum"):
        known_species().adding(Species("sugar gum", prefix="SG"))


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf")])
def test_a_figure_that_is_no_measure_is_refused(value):
    with pytest.raises(BadInput, match="above zero"):
        Figure(Quantity.DENSITY, value, Basis.AIR_DRY, "scale")


@pytest.mark.parametrize("name", ["sugar gum", "Huon pine", "sassafras", "spotted gum", "X", "Ö", "gum"])
def test_a_proposed_prefix_is_short_and_free(name):
    prefix = known_species().proposed_prefix(name)
    others = {species.prefix for species in known_species() if species.name != name}

    assert prefix not in others
    assert 2 <= len(prefix) <= 3
    assert prefix.isupper()
