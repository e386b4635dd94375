"""What timber has cost, delivery by delivery, by supplier and species, to hold the next offer against."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.measures.money import rounded

if TYPE_CHECKING:
    from stockyard.records import OpenWork


@dataclass(frozen=True, slots=True)
class PricePoint:
    """One species and thickness on one docket, at landed cost; a docket taken back is not there.

    volume_mm3: as received. per_m3: landed cost of a cubic metre, exact money of `currency`.
    """

    received_on: date
    supplier: str
    docket: str
    species: str
    thickness_mm: float
    pieces: int
    volume_mm3: int
    landed: Decimal
    per_m3: Decimal
    currency: str


def timber_prices(
    open_work: "OpenWork", *, supplier: str | None = None, species: str | None = None
) -> tuple[PricePoint, ...]:
    """Every price paid, the oldest first. supplier, species: only those. Raises NotFound for unknown ones."""
    with open_work(reading=True) as work:
        wanted_supplier = None if supplier is None else work.suppliers.get(supplier).name
        wanted_species = None if species is None else work.species.get(species).name
        currency = work.workshop.currency
        return tuple(
            PricePoint(
                day,
                who,
                docket,
                wood,
                thickness,
                pieces,
                volume,
                value,
                rounded(value * 10**9 / volume, currency),
                currency,
            )
            for day, who, docket, wood, thickness, pieces, volume, value in work.deliveries.received(
                wanted_supplier, wanted_species
            )
            if volume
        )
