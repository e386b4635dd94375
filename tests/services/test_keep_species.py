import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.services.keep_species import keep_species, list_species, own_figure, show_species
from stockyard.timber.species import Basis, Evidence, Quantity, known_species


def test_a_wood_of_the_workshops_own_is_kept_with_its_source(yard: Yard) -> None:
    kept = keep_species(
        yard.open_work,
        "Creek Plum",
        figures=(own_figure("movement tangential", 0.0041, "our own strips, 2025"),),
        botanical="Prunus rivalis",
        aliases=("river plum",),
    )

    assert (kept.name, kept.prefix) == ("creek plum", "CP")
    (figure,) = show_species(yard.open_work, "river plum").figures
    assert (figure.value, figure.basis, figure.source, figure.evidence) == (
        0.0041,
        Basis.UNIT_SHRINKAGE,
        "our own strips, 2025",
        Evidence.OWN,
    )
    assert "creek plum" in list_species(yard.open_work)


def test_the_workshops_figure_is_used_and_the_published_ones_stay_in_sight(yard: Yard) -> None:
    published = known_species().named("spotted gum").says(Quantity.MOVEMENT_TANGENTIAL)
    keep_species(yard.open_work, "Spotted Gum", figures=(own_figure("movement tangential", 0.0035, "ours"),))

    said = show_species(yard.open_work, "spotted gum").says(Quantity.MOVEMENT_TANGENTIAL)
    assert [figure.value for figure in said] == [0.0035, *(figure.value for figure in published)]


@pytest.mark.parametrize(
    ("quantity", "value", "basis"),
    [
        ("movement tangential", 0.38, None),  # percent typed where a share belongs
        ("movement tangential", -1, None),
        ("density", 1.01, None),  # t/m3
        ("density", 800, "green to 12 %"),
        ("shrinkage radial", 4.3, None),  # the two bases are never mixed
        ("shrinkage radial", 4.3, "seasoned"),
        ("colour", 3, None),
    ],
)
def test_an_improbable_figure_or_basis_is_refused(quantity: str, value: float, basis: str | None) -> None:
    with pytest.raises(BadInput, match="cannot be kept"):
        own_figure(quantity, value, "ours", basis)


def test_a_figure_needs_a_source_and_shrinkage_its_basis() -> None:
    with pytest.raises(BadInput) as refused:
        own_figure("density", 800, " ")
    assert refused.value.faults[0].where == "source"
    assert own_figure("shrinkage radial", 4.3, "ours", "green to 12 %").basis is Basis.GREEN_TO_12


def test_what_is_known_and_unchanged_or_taken_is_refused(sqlite_yard: Yard) -> None:
    with pytest.raises(BadInput, match="nothing new was said"):
        keep_species(sqlite_yard.open_work, "jarrah")
    with pytest.raises(BadInput, match="prefix"):
        keep_species(sqlite_yard.open_work, "creek plum", prefix="SG")
    with pytest.raises(NotFound):
        show_species(sqlite_yard.open_work, "creek plum")
