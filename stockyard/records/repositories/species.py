"""The species a yard knows: the built-in list, with the workshop's own laid over it."""

from dataclasses import asdict
from typing import Any

from sqlalchemy import select, update

from stockyard.records.repositories.counts import add_once
from stockyard.records.repositories.repository import Repository
from stockyard.records.tables import SpeciesRow
from stockyard.timber.species import Basis, Evidence, Figure, Quantity, Species, SpeciesTable, known_species


class SpeciesRepository(Repository):
    """Species by any of their names. A built-in one needs no adding; it is taken into the yard when used."""

    def table(self) -> SpeciesTable:
        """Every species the yard knows, its own laid over the built-in ones."""
        return known_species().adding(*self.own())

    def own(self) -> tuple[Species, ...]:
        """Those that the yard has used or changed, by name."""
        rows = self._connection.execute(
            select(
                SpeciesRow.name,
                SpeciesRow.prefix,
                SpeciesRow.botanical,
                SpeciesRow.aliases,
                SpeciesRow.particulars,
            ).order_by(SpeciesRow.name)
        )
        return tuple(_species(*row) for row in rows)

    def get(self, name: str) -> Species:
        """The species of that name or alias. Raises NotFound, with near names."""
        return self.table().named(name)

    def add(self, species: Species) -> Species:
        """Add a species of the workshop's own, or lay it over the built-in one of that name.

        One without a prefix for its boards' numbers is given one. Raises BadInput for another's prefix.
        """
        table = self.table()
        if not species.prefix:
            prefix = table.proposed_prefix(species.name)
            species = Species(**{**_fields(species), "prefix": prefix})
        table.adding(species)
        row = _row(species)
        changed = self._connection.execute(
            update(SpeciesRow).where(SpeciesRow.name == species.name).values(row)
        )
        if not changed.rowcount:
            add_once(self._connection, SpeciesRow, "name", row)
        return species

    def row_ids(self, names: set[str]) -> dict[str, int]:
        """Row ids by exact species name, taking built-in species into the yard where it uses them first."""
        found = self._found(names)
        for name in sorted(names - set(found)):
            self.add(self.get(name))
        return found if len(found) == len(names) else self._found(names)

    def _found(self, names: set[str]) -> dict[str, int]:
        rows = self._connection.execute(
            select(SpeciesRow.name, SpeciesRow.id).where(SpeciesRow.name.in_(names))
        )
        return dict(rows.all())


def _fields(species: Species) -> dict[str, Any]:
    return {name: getattr(species, name) for name in Species.__dataclass_fields__}


def _row(species: Species) -> dict[str, Any]:
    return {
        "name": species.name,
        "prefix": species.prefix,
        "botanical": list(species.botanical),
        "aliases": list(species.aliases),
        "particulars": {
            "origin": species.origin,
            "group_of": list(species.group_of),
            "note": species.note,
            "figures": [asdict(figure) for figure in species.figures],
        },
    }


def _species(
    name: str, prefix: str, botanical: list[str], aliases: list[str], particulars: dict[str, Any]
) -> Species:
    return Species(
        name=name,
        prefix=prefix,
        botanical=tuple(botanical),
        aliases=tuple(aliases),
        origin=particulars["origin"],
        group_of=tuple(particulars["group_of"]),
        note=particulars["note"],
        figures=tuple(
            Figure(
                Quantity(figure["quantity"]),
                figure["value"],
                Basis(figure["basis"]),
                figure["source"],
                Evidence(figure["evidence"]),
                figure["note"],
            )
            for figure in particulars["figures"]
        ),
    )
