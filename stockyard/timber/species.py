"""A species of wood: its names, and every figure known of it with the source and basis of each.

The built-in table is two lists shipped beside this module (names; figures with their sources). A workshop
lays its own species and figures over it. What is not known is left out; where sources disagree the first
listed is used and the others stay in sight.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from math import isfinite

from stockyard.errors import BadInput, Fault, NotFound


class Quantity(StrEnum):
    """What a figure of a species measures, and in what unit."""

    DENSITY = "density"  # kg/m3, air dry at 12 %
    HARDNESS = "hardness"  # kN, Janka, seasoned
    SHRINKAGE_RADIAL = "shrinkage radial"  # percent, on the basis stated
    SHRINKAGE_TANGENTIAL = "shrinkage tangential"
    MOVEMENT_RADIAL = "movement radial"  # share of the width per 1 % moisture content
    MOVEMENT_TANGENTIAL = "movement tangential"


class Basis(StrEnum):
    """Between which states a figure was measured. Figures of different bases are never mixed."""

    AIR_DRY = "air dry, 12 %"
    JANKA = "Janka, seasoned"
    GREEN_TO_12 = "green to 12 %"
    GREEN_TO_OVENDRY = "green to ovendry"
    UNIT_SHRINKAGE = "unit shrinkage"  # seasoned timber, per 1 %
    COEFFICIENT = "6-14 % coefficient"  # per 1 %, on the width at 10 %
    FROM_OVENDRY = "from green to ovendry"  # a coefficient computed from total shrinkage
    NOT_STATED = "not stated"


_ALIKE = {Basis.COEFFICIENT: Basis.UNIT_SHRINKAGE, Basis.FROM_OVENDRY: Basis.UNIT_SHRINKAGE}
"""Bases on which figures say the same thing: the share of a width that goes with each 1 % of moisture."""


class Evidence(StrEnum):
    """How a figure came here: read in its source, remembered from it, computed, or the workshop's own."""

    READ = "read"
    REMEMBERED = "remembered"
    COMPUTED = "computed"
    OWN = "own"


@dataclass(frozen=True, slots=True)
class Figure:
    """One published or measured figure of a species. value: > 0, in the quantity's unit."""

    quantity: Quantity
    value: float
    basis: Basis
    source: str
    evidence: Evidence = Evidence.OWN
    note: str = ""

    def __post_init__(self) -> None:
        if not isfinite(self.value) or self.value <= 0:
            raise BadInput(
                f"The {self.quantity} of a species must be above zero.",
                [Fault(self.quantity, "a number above 0", str(self.value))],
            )


@dataclass(frozen=True, slots=True)
class Species:
    """A species, or a trade name that covers several.

    prefix: proposed for its boards' numbers. group_of: the species a trade name stands for.
    figures: of each quantity the first is the one in use, later ones are what other sources say.
    """

    name: str
    botanical: tuple[str, ...] = ()
    origin: str = ""
    aliases: tuple[str, ...] = ()
    prefix: str = ""
    group_of: tuple[str, ...] = ()
    note: str = ""
    figures: tuple[Figure, ...] = ()

    def figure(self, quantity: Quantity) -> Figure | None:
        """The figure in use, or None where nothing is known."""
        return next((figure for figure in self.figures if figure.quantity is quantity), None)

    def says(self, quantity: Quantity) -> tuple[Figure, ...]:
        """Every figure of that quantity, the one in use first."""
        return tuple(figure for figure in self.figures if figure.quantity is quantity)

    def conflicts(self) -> dict[Quantity, tuple[Figure, ...]]:
        """The quantities for which sources give different values on one basis, with those they give.

        Total shrinkage to 12 % and to ovendry are two quantities, not two opinions, and never meet here;
        unit shrinkage and coefficients all predict the change for each 1 %, and do.
        """
        found = {}
        for quantity in Quantity:
            alike: dict[Basis, list[Figure]] = {}
            for figure in self.says(quantity):
                alike.setdefault(_ALIKE.get(figure.basis, figure.basis), []).append(figure)
            apart = [some for some in alike.values() if len({figure.value for figure in some}) > 1]
            if apart:
                found[quantity] = tuple(figure for some in apart for figure in some)
        return found

    @property
    def density_kg_m3(self) -> float | None:
        """Air-dry density at 12 % moisture content. [kg/m3]"""
        figure = self.figure(Quantity.DENSITY)
        return figure.value if figure else None

    def with_own(self, *figures: Figure) -> "Species":
        """The same species with the workshop's figures put before all others."""
        return replace(self, figures=(*figures, *self.figures))


class SpeciesTable:
    """The species a workshop knows, found by common name or alias in any spelling of case and hyphens."""

    def __init__(self, species: Iterable[Species]) -> None:
        self._species: dict[str, Species] = {}
        self._names: dict[str, str] = {}
        for one in species:
            self._species[_key(one.name)] = one
        for key, one in self._species.items():
            for name in (one.name, *one.aliases):
                self._names.setdefault(_key(name), key)
        # A species' own name is always its own, whatever another lists as an alias.
        self._names.update({key: key for key in self._species})

    def __iter__(self) -> Iterator[Species]:
        return iter(self._species.values())

    def __len__(self) -> int:
        return len(self._species)

    def __contains__(self, name: str) -> bool:
        return _key(name) in self._names

    def named(self, name: str) -> Species:
        """The species of that common name or alias. Raises NotFound, with near names."""
        key = self._names.get(_key(name))
        if key is None:
            raise NotFound("species", name, self.near(name))
        return self._species[key]

    def near(self, name: str, count: int = 3) -> tuple[str, ...]:
        """Common names most like `name`, the likeliest first; none when nothing is alike."""
        keys = get_close_matches(_key(name), self._names, n=3 * count, cutoff=0.6)
        within = [key for key in sorted(self._names) if _key(name) and _key(name) in key]
        found = dict.fromkeys(self._species[self._names[key]].name for key in (*keys, *within))
        return tuple(found)[:count]

    def adding(self, *species: Species) -> "SpeciesTable":
        """A table with these species added, replacing those of the same name.

        Raises BadInput when a name is empty, or a prefix belongs to another species.
        """
        faults = [Fault("species name", "a name", repr(one.name)) for one in species if not _key(one.name)]
        taken = {one.prefix: one for one in self if one.prefix}
        for one in species:
            other = taken.get(one.prefix)
            if one.prefix and other and _key(other.name) != _key(one.name):
                faults.append(
                    Fault(f"prefix of {one.name}", "one of its own", f"{one.prefix}, used by {other.name}")
                )
        if faults:
            raise BadInput("The species cannot be added.", faults)
        return SpeciesTable((*self, *species))

    def proposed_prefix(self, name: str) -> str:
        """A number prefix of two or three capitals for a new species, not in use by another."""
        if name in self and self.named(name).prefix:
            return self.named(name).prefix
        taken = {one.prefix for one in self}
        words = re.findall(r"[A-Z]+", _key(name).upper()) or ["X"]
        letters = "".join(words)
        initials = "".join(word[0] for word in words)
        candidates = [initials[:2]] if len(initials) > 1 else [letters[:2]]
        candidates += [initials[:3]] if len(initials) > 2 else []
        candidates += [letters[0] + letter for letter in letters[1:]]
        candidates += [letters[0] + a + b for a in letters[1:] for b in letters[1:]]
        candidates += [f"{letters[0]}{n}" for n in range(2, 1000)]
        return next(one for one in candidates if len(one) > 1 and one not in taken)


@lru_cache(maxsize=1)
def known_species() -> SpeciesTable:
    """The built-in table."""
    sources = {row["key"]: row["source"] for row in _rows("species_sources.csv")}
    figures: dict[str, list[Figure]] = {}
    for row in _rows("species_figures.csv"):
        figures.setdefault(row["species"], []).append(
            Figure(
                Quantity(row["quantity"]),
                float(row["value"]),
                Basis(row["basis"]),
                sources[row["source"]],
                Evidence(row["evidence"]),
                row["note"],
            )
        )
    return SpeciesTable(
        Species(
            name=row["name"],
            botanical=_listed(row["botanical"]),
            origin=row["origin"],
            aliases=_listed(row["aliases"]),
            prefix=row["prefix"],
            group_of=_listed(row["group_of"]),
            note=row["note"],
            figures=tuple(figures.get(row["name"], ())),
        )
        for row in _rows("species.csv")
    )


def _rows(name: str) -> list[dict[str, str]]:
    text = files("stockyard.timber").joinpath("tables", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _listed(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def _key(name: str) -> str:
    """A name as it is compared: case, hyphens, apostrophes and spacing do not tell species apart."""
    plain = name.casefold().replace("’", "").replace("'", "").replace("-", " ")
    return " ".join(plain.split())
