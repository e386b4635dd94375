"""Reorder points: how much of a timber or a consumable should be there at least, and what is low."""

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, Fault
from stockyard.records import retried
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

KEY = "reorder_points"
"""The dated workshop setting that holds them."""


@dataclass(frozen=True, slots=True)
class ReorderPoint:
    """One point. what: a consumable, or a species; thickness_mm: of timber, None for a consumable.

    at, there: in `unit`, which is lineal metres of free boards for timber.
    """

    what: str
    thickness_mm: float | None
    at: Decimal
    there: Decimal
    unit: str

    @property
    def low(self) -> bool:
        """Is there less than there should be?"""
        return self.there < self.at


def list_reorder_points(open_work: "OpenWork") -> tuple[ReorderPoint, ...]:
    """Every point and what is there now, those that are low first."""
    with open_work(reading=True) as work:
        return _points(work)


def set_timber_point(
    open_work: "OpenWork", species: str, thickness_mm: float, metres: Decimal, *, who: str = ""
) -> tuple[ReorderPoint, ...]:
    """Want so many lineal metres of boards of a species and thickness to be free at least; 0 forgets it.

    Raises NotFound for a species nobody knows, BadInput with every fault.
    """

    def keep(work: "UnitOfWork") -> tuple[ReorderPoint, ...]:
        name = work.species.get(species).name
        faults = [] if 1 <= thickness_mm <= 600 else [Fault("thickness", "1 to 600 mm", f"{thickness_mm:g}")]
        _refuse(faults, metres)
        kept = _kept(work)
        kept["timber"] = [
            each for each in kept["timber"] if (each["species"], each["thickness_mm"]) != (name, thickness_mm)
        ]
        if metres:
            kept["timber"].append({"species": name, "thickness_mm": thickness_mm, "metres": f"{metres:f}"})
        work.workshop.set(KEY, kept)
        return _points(work)

    return retried(open_work, keep, who=who)


def set_supply_point(
    open_work: "OpenWork", name: str, quantity: Decimal, *, who: str = ""
) -> tuple[ReorderPoint, ...]:
    """Want so much of a consumable to be there at least, in its unit; 0 forgets it.

    Raises NotFound, BadInput for a quantity below 0.
    """

    def keep(work: "UnitOfWork") -> tuple[ReorderPoint, ...]:
        supply = work.supplies.get(name)
        _refuse([], quantity)
        kept = _kept(work)
        kept["supplies"].pop(supply.name, None)
        if quantity:
            kept["supplies"][supply.name] = f"{quantity:f}"
        work.workshop.set(KEY, kept)
        return _points(work)

    return retried(open_work, keep, who=who)


def _refuse(faults: list[Fault], amount: Decimal) -> None:
    if not amount.is_finite() or amount < 0:
        faults.append(Fault("at least", "0 or more", f"{amount}"))
    if faults:
        raise BadInput("The reorder point was not kept.", faults)


def _kept(work: "UnitOfWork") -> dict[str, Any]:
    kept = work.workshop.get(KEY) or {}
    return {"timber": list(kept.get("timber", [])), "supplies": dict(kept.get("supplies", {}))}


def _points(work: "UnitOfWork") -> tuple[ReorderPoint, ...]:
    kept = _kept(work)
    points = []
    for each in kept["timber"]:
        query = RackQuery(
            species=(each["species"],),
            kinds=(PieceKind.BOARD,),
            status=(PieceStatus.FREE,),
            thickness_at_least_mm=each["thickness_mm"],
            thickness_at_most_mm=each["thickness_mm"],
        )
        lengths = (Decimal(str(piece.length_mm)) for piece in work.pieces.find(query))
        there = sum(lengths, Decimal(0)) / 1000
        points.append(
            ReorderPoint(each["species"], each["thickness_mm"], Decimal(each["metres"]), there, "m")
        )
    shelves = work.supplies.shelves()
    units = {each.name: each.unit.value for each in work.supplies.all()}
    points += [
        ReorderPoint(name, None, Decimal(at), shelves[name].quantity, units[name])
        for name, at in kept["supplies"].items()
    ]
    return tuple(sorted(points, key=lambda point: (not point.low, point.what, point.thickness_mm or 0)))
