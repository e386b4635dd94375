"""Consumables: glue, screws and finish bought, used on jobs and counted, at weighted average cost."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, Refused
from stockyard.ledger import balanced
from stockyard.measures.money import exact
from stockyard.records import retried
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.supply import Shelf, Supply, SupplyKind, SupplyUnit

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


@dataclass(frozen=True, slots=True)
class ShelvedSupply:
    """A consumable, and how much of it there is and what it stands for."""

    supply: Supply
    shelf: Shelf
    currency: str


@dataclass(frozen=True, slots=True)
class SupplyEvent:
    """One thing that happened to a consumable. left: how much there was after it."""

    movement: int
    day: date
    kind: MovementKind
    quantity: Decimal
    value: Decimal
    left: Shelf
    job: str | None
    cause: str
    who: str


def add_supply(
    open_work: "OpenWork", name: str, *, kind: str, unit: str, note: str = "", who: str = ""
) -> Supply:
    """Keep a consumable by name. Raises BadInput with every fault, Refused for a name kept already.

    kind: a word of SupplyKind. unit: what it is counted in, a word of SupplyUnit.
    """
    kinds, units = [each.value for each in SupplyKind], [each.value for each in SupplyUnit]
    faults = [] if name.strip() else [Fault("name", "what its label says")]
    faults += [] if kind in kinds else [Fault("kind", f"one of {', '.join(kinds)}", repr(kind))]
    faults += [] if unit in units else [Fault("unit", f"one of {', '.join(units)}", repr(unit))]
    if faults:
        raise BadInput("The consumable was not kept.", faults)
    supply = Supply(" ".join(name.split()), SupplyKind(kind), SupplyUnit(unit), note.strip())

    def add(work: "UnitOfWork") -> Supply:
        known = work.supplies.find(supply.name)
        if known is not None:
            raise Refused(f"{known.name} is kept already, as {known.kind.value}, in {known.unit.value}.")
        work.supplies.add(supply)
        return supply

    return retried(open_work, add, who=who)


def list_supplies(open_work: "OpenWork", as_of: date | None = None) -> tuple[ShelvedSupply, ...]:
    """Every consumable with what there is of it by the end of a day; now when None."""
    with open_work(reading=True) as work:
        shelves, currency = work.supplies.shelves(as_of), work.workshop.currency
        return tuple(ShelvedSupply(each, shelves[each.name], currency) for each in work.supplies.all())


def show_supply(open_work: "OpenWork", name: str) -> tuple[ShelvedSupply, tuple[SupplyEvent, ...]]:
    """One consumable, and everything that happened to it in the order booked. Raises NotFound."""
    with open_work(reading=True) as work:
        supply = work.supplies.get(name)
        events = []
        shelf = Shelf()
        for movement in work.movements.of_supply(supply.name):
            quantity = value = Decimal(0)
            for line in movement.lines:
                if line.supply == supply.name:
                    quantity, value = quantity + line.quantity, value + line.value
            shelf = Shelf(shelf.quantity + quantity, shelf.value + value)
            job = next((line.job for line in movement.lines if line.job is not None), None)
            events.append(
                SupplyEvent(
                    movement.id or 0,
                    movement.effective,
                    movement.kind,
                    quantity,
                    value,
                    shelf,
                    job,
                    movement.cause,
                    movement.who,
                )
            )
        return ShelvedSupply(supply, shelf, work.workshop.currency), tuple(events)


def buy_supply(
    open_work: "OpenWork",
    name: str,
    quantity: Decimal,
    *,
    cost: Decimal,
    supplier: str,
    docket: str = "",
    day: date | None = None,
    who: str = "",
) -> ShelvedSupply:
    """Put bought consumables on the shelf at what they cost, freight in and recoverable tax out.

    quantity: in the supply's unit, > 0. Raises NotFound, and BadInput with every fault.
    """

    def buy(work: "UnitOfWork") -> ShelvedSupply:
        supply = _held(work, name)
        faults = _faults(work, supply, quantity, day, least_above=True)
        if not supplier.strip():
            faults.append(Fault("supplier", "who it was bought from"))
        worth = exact(cost, work.workshop.currency, "cost")
        if worth < 0:
            faults.append(Fault("cost", "0 or more", str(cost)))
        if faults:
            raise BadInput(f"{supply.name} was not put on the shelf.", faults)
        cause = f"bought from {supplier.strip()}" + (f", docket {docket.strip()}" if docket.strip() else "")
        line = Line(value=worth, account=Account.SUPPLIES, supply=supply.name, quantity=quantity)
        return _booked(work, supply, MovementKind.RECEIVE, line, Account.SUPPLIERS, day, cause)

    return retried(open_work, buy, who=who)


def use_supply(
    open_work: "OpenWork",
    name: str,
    quantity: Decimal,
    *,
    job: str,
    day: date | None = None,
    note: str = "",
    who: str = "",
) -> ShelvedSupply:
    """Let a job bear what it used of a consumable, at the weighted average of what is on the shelf.

    quantity: in the supply's unit, from above 0 to what there is. Raises NotFound, BadInput with every fault.
    """

    def use(work: "UnitOfWork") -> ShelvedSupply:
        supply = _held(work, name)
        booked = work.jobs.get(job)
        faults = _faults(work, supply, quantity, day, least_above=True)
        shelf = work.supplies.shelves()[supply.name]
        if quantity > shelf.quantity:
            faults.append(
                Fault("quantity", f"up to {shelf.quantity:f} {supply.unit}, all there is", f"{quantity:f}")
            )
        if faults:
            raise BadInput(f"{supply.name} was not booked as used; count the shelf if it holds more.", faults)
        worth = shelf.cost_of(quantity, work.workshop.currency)
        line = Line(value=-worth, account=Account.SUPPLIES, supply=supply.name, quantity=-quantity)
        cause = f"used for {booked.name}" + (f": {note.strip()}" if note.strip() else "")
        return _booked(work, supply, MovementKind.USE, line, Account.JOBS, day, cause, booked.name)

    return retried(open_work, use, who=who)


def count_supply(
    open_work: "OpenWork", name: str, quantity: Decimal, *, reason: str, who: str = ""
) -> ShelvedSupply:
    """Say how much of a consumable there really is. Less is a loss at average cost; more is never a gain.

    More than the books say spreads what they say it cost over more of it, and where they say none is left it
    has no cost. reason: why it differs, needed when it does. Raises NotFound, BadInput with every fault.
    """

    def count(work: "UnitOfWork") -> ShelvedSupply:
        supply = _held(work, name)
        faults = _faults(work, supply, quantity, None, least_above=False)
        shelf = work.supplies.shelves()[supply.name]
        if quantity != shelf.quantity and not reason.strip():
            faults.append(
                Fault("reason", "why it differs", f"{quantity:f}, the books say {shelf.quantity:f}")
            )
        if faults:
            raise BadInput(f"{supply.name} was not counted.", faults)
        if quantity == shelf.quantity:
            return ShelvedSupply(supply, shelf, work.workshop.currency)
        less = shelf.quantity - quantity
        worth = shelf.cost_of(less, work.workshop.currency) if less > 0 else Decimal(0)
        line = Line(value=-worth, account=Account.SUPPLIES, supply=supply.name, quantity=-less)
        return _booked(work, supply, MovementKind.COUNT, line, Account.LOSSES, None, reason.strip())

    return retried(open_work, count, who=who)


def _held(work: "UnitOfWork", name: str) -> Supply:
    """The consumable meant, held so that nobody else takes from the same shelf meanwhile."""
    supply = work.supplies.get(name)
    work.supplies.lock([supply.name])
    return supply


def _faults(
    work: "UnitOfWork", supply: Supply, quantity: Decimal, day: date | None, *, least_above: bool
) -> list[Fault]:
    faults = []
    if not quantity.is_finite() or quantity < 0 or (least_above and not quantity):
        faults.append(Fault("quantity", "above 0" if least_above else "0 or more", f"{quantity}"))
    elif quantity != quantity.quantize(Decimal("0.001")):
        faults.append(Fault("quantity", f"to a thousandth of {supply.unit}", f"{quantity:f}"))
    newest = work.supplies.newest(supply.name)
    if day is not None and day > work.today:
        faults.append(Fault("date", f"a day up to today, {work.today}", str(day)))
    elif day is not None and newest is not None and day < newest:
        # An average that was used already must not change behind what was booked by it.
        faults.append(Fault("date", f"{newest} or later, the day of its newest movement", str(day)))
    return faults


def _booked(
    work: "UnitOfWork",
    supply: Supply,
    kind: MovementKind,
    line: Line,
    against: Account,
    day: date | None,
    cause: str,
    job: str | None = None,
) -> ShelvedSupply:
    newest = work.supplies.newest(supply.name)
    effective = day or max(work.today, newest or work.today)
    # A job's line stands even where what it used cost nothing, so that its quantity is known to be the job's.
    borne = Line(value=-line.value, account=against, job=job)
    lines = balanced([line], against) if job is None else (line, borne)
    work.movements.book(Movement(kind, lines, effective, cause))
    return ShelvedSupply(supply, work.supplies.shelves()[supply.name], work.workshop.currency)


def unit_of(open_work: "OpenWork", name: str) -> str:
    """What a consumable is counted in. Raises NotFound, with near names."""
    with open_work(reading=True) as work:
        return work.supplies.get(name).unit.value
