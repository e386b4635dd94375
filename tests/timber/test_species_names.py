import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.timber.species_names import near_names, same_name

YARD = ("spotted gum", "blackbutt", "jarrah", "red gum", "Tasmanian oak", "white oak", "walnut")


@pytest.mark.parametrize(
    "text", ["spotted gum", "Spotted Gum", "SPOTTED-GUM ", "Gum, Spotted", "spotted  gum."]
)
def test_a_name_is_known_whatever_its_capitals_hyphens_and_order(text: str) -> None:
    assert same_name(text, YARD) == "spotted gum"


@pytest.mark.parametrize("text", ["spoted gum", "gum", "", "123", "oak"])
def test_a_name_that_is_only_like_a_known_one_is_not_it(text: str) -> None:
    assert same_name(text, YARD) is None


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("spoted gum", "spotted gum"),
        ("Spotted Gum KD Select", "spotted gum"),
        ("jarra", "jarrah"),
        ("black butt", "blackbutt"),
        ("Tas oak", "Tasmanian oak"),
        ("wallnut", "walnut"),
    ],
)
def test_near_names_are_offered_likeliest_first(text: str, first: str) -> None:
    assert near_names(text, YARD)[0] == first


def test_part_of_a_name_offers_every_name_it_is_part_of() -> None:
    assert set(near_names("oak", YARD)) == {"Tasmanian oak", "white oak"}


def test_nothing_is_offered_for_what_is_like_nothing() -> None:
    assert near_names("zebrano", YARD) == ()
    assert near_names("", YARD) == ()


@given(st.text(max_size=120))
def test_any_text_gets_at_most_so_many_known_names(text: str) -> None:
    names = near_names(text, YARD, most=2)
    assert len(names) <= 2
    assert set(names) <= set(YARD)
