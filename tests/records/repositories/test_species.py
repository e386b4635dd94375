from dataclasses import replace

import pytest

from stockyard.errors import BadInput, NotFound
from stockyard.records import Yard
from stockyard.timber.species import Species, known_species


def test_a_built_in_species_needs_no_adding(yard: Yard) -> None:
    with yard.open_work() as work:
        assert work.species.get("Spotted Gum").prefix == "SG"
        assert work.species.own() == ()
        work.pieces.new_numbers("spotted gum")
        assert [species.name for species in work.species.own()] == ["spotted gum"]


def test_what_the_yard_took_in_is_the_same_species(yard: Yard) -> None:
    with yard.open_work() as work:
        work.pieces.new_numbers("spotted gum")

        assert work.species.own() == (known_species().named("spotted gum"),)


def test_the_workshops_own_species_gets_a_prefix_of_its_own(yard: Yard) -> None:
    with yard.open_work() as work:
        added = work.species.add(Species("river plum", ("Pruna fluvialis",), aliases=("creek plum",)))

        assert added.prefix
        assert added.prefix not in {species.prefix for species in known_species()}
        assert work.species.get("creek plum") == added
        assert work.pieces.new_numbers("creek plum") == [f"{added.prefix}-0001"]


def test_its_own_figures_replace_the_built_in_ones(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work:
        ours = replace(work.species.get("blackbutt"), note="ours moves less", figures=())
        work.species.add(ours)
        work.species.add(replace(ours, note="changed again"))

        assert work.species.get("blackbutt").note == "changed again"
        assert len(work.species.table()) == len(known_species())


def test_a_prefix_belongs_to_one_species(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work, pytest.raises(BadInput, match="used by spotted gum"):
        work.species.add(Species("silver gum", prefix="SG"))


def test_an_unknown_species_is_named_with_near_ones(sqlite_yard: Yard) -> None:
    with sqlite_yard.open_work() as work, pytest.raises(NotFound, match="blackbutt"):
        work.species.get("blackbut")
