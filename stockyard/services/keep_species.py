"""Keep species: those built in, and what the workshop adds or measures itself, always with its source."""

from dataclasses import replace
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.timber.species import Basis, Evidence, Figure, Quantity, Species, SpeciesTable

if TYPE_CHECKING:
    from stockyard.records import OpenWork

LIKELY: dict[Quantity, tuple[float, float, str]] = {
    Quantity.DENSITY: (80, 1500, "kg/m3"),
    Quantity.HARDNESS: (0.1, 30, "kN"),
    Quantity.SHRINKAGE_RADIAL: (0.3, 30, "percent"),
    Quantity.SHRINKAGE_TANGENTIAL: (0.3, 30, "percent"),
    Quantity.MOVEMENT_RADIAL: (0.0003, 0.01, "share of the width for each 1 %, such as 0.0035"),
    Quantity.MOVEMENT_TANGENTIAL: (0.0003, 0.01, "share of the width for each 1 %, such as 0.0035"),
}
"""Between which figures a wood is likely to lie; one outside is taken for a wrong unit. A working choice."""

_BASES: dict[Quantity, tuple[Basis, ...]] = {
    Quantity.DENSITY: (Basis.AIR_DRY,),
    Quantity.HARDNESS: (Basis.JANKA,),
    Quantity.SHRINKAGE_RADIAL: (Basis.GREEN_TO_12, Basis.GREEN_TO_OVENDRY),
    Quantity.SHRINKAGE_TANGENTIAL: (Basis.GREEN_TO_12, Basis.GREEN_TO_OVENDRY),
    Quantity.MOVEMENT_RADIAL: (Basis.UNIT_SHRINKAGE, Basis.COEFFICIENT),
    Quantity.MOVEMENT_TANGENTIAL: (Basis.UNIT_SHRINKAGE, Basis.COEFFICIENT),
}


def list_species(open_work: "OpenWork") -> SpeciesTable:
    """Every species the yard knows."""
    with open_work(reading=True) as work:
        return work.species.table()


def show_species(open_work: "OpenWork", name: str) -> Species:
    """One species with every figure known of it. Raises NotFound, with near names."""
    with open_work(reading=True) as work:
        return work.species.get(name)


def own_figure(quantity: str, value: float, source: str, basis: str | None = None, note: str = "") -> Figure:
    """A figure of the workshop's own.

    basis: needed for shrinkage, which is measured from green to 12 % or to ovendry and never mixed.
    Raises BadInput with every fault, improbable figures named with their unit.
    """
    faults = []
    if quantity not in set(Quantity):
        raise BadInput(
            "The figure cannot be kept.", [Fault("figure", f"one of {', '.join(Quantity)}", repr(quantity))]
        )
    what = Quantity(quantity)
    low, high, unit = LIKELY[what]
    if not low <= value <= high:
        faults.append(Fault(what, f"{low:g} to {high:g} ({unit})", f"{value:g}"))
    if not source.strip():
        faults.append(Fault("source", "where the figure comes from"))
    allowed = _BASES[what]
    chosen = allowed[0] if basis is None and len(allowed) == 1 else None
    if basis is None and what in (Quantity.MOVEMENT_RADIAL, Quantity.MOVEMENT_TANGENTIAL):
        chosen = Basis.UNIT_SHRINKAGE
    if basis is not None and basis in {str(one) for one in allowed}:
        chosen = Basis(basis)
    if chosen is None:
        faults.append(Fault(f"basis of {what}", " or ".join(allowed), repr(basis or "")))
    if faults or chosen is None:
        raise BadInput("The figure cannot be kept.", faults)
    return Figure(what, value, chosen, source.strip(), Evidence.OWN, note.strip())


def keep_species(
    open_work: "OpenWork",
    name: str,
    *,
    figures: tuple[Figure, ...] = (),
    botanical: str = "",
    prefix: str = "",
    aliases: tuple[str, ...] = (),
    note: str = "",
) -> Species:
    """Add a species, or lay the workshop's figures over a known one: they are used, the others stay in sight.

    Raises BadInput when a prefix is another's, or nothing is said of a known species.
    """
    plain = " ".join(name.split())
    with open_work() as work:
        table = work.species.table()
        known = table.named(plain) if plain in table else Species(name=plain.casefold())
        if plain in table and not (figures or botanical or prefix or aliases or note):
            raise BadInput(f"{known.name} is known already, and nothing new was said of it.")
        changed = replace(
            known.with_own(*figures),
            botanical=(botanical.strip(),) if botanical.strip() else known.botanical,
            prefix=prefix.strip().upper() or known.prefix,
            aliases=tuple(dict.fromkeys((*known.aliases, *aliases))),
            note=note.strip() or known.note,
        )
        kept = work.species.add(changed)
        work.commit()
    return kept
