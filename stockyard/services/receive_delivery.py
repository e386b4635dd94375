"""Receive a delivery: a supplier's tally becomes numbered boards, in the books at what they really cost."""

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import AlreadyBooked, BadInput, Fault
from stockyard.records import retried
from stockyard.services.uncollected import uncollected
from stockyard.tally import (
    Charge,
    ColumnTaken,
    CostedLine,
    LandedCost,
    ShareBy,
    SkippedRow,
    Tally,
    TallyLine,
    TallyOptions,
    Tax,
    landed_cost,
    read_tally,
)
from stockyard.timber.delivery import Delivery, Measure
from stockyard.timber.moisture_reading import MoistureReading
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, volume_mm3
from stockyard.timber.provenance import Provenance, findings
from stockyard.timber.species import Species, SpeciesTable

if TYPE_CHECKING:
    from stockyard.records.connect import OpenWork
    from stockyard.records.unit_of_work import UnitOfWork

SUPPLIERS_WORD = "as the supplier's tally states, not measured here"


@dataclass(frozen=True, slots=True)
class Order:
    """What the docket says besides its tally.

    tax: None for a purchase without any. docket_total: what the docket comes to, None when not checked.
    place: where boards go whose row names no place. provenance: where the timber comes from, by the fields
    of `Provenance`; papers and documents as a list with commas.
    new_species: names that are to be taken as species not yet known to the yard.
    """

    supplier: str
    docket: str
    received_on: date | None = None
    charges: tuple[Charge, ...] = ()
    tax: Tax | None = field(default_factory=Tax)
    docket_total: Decimal | None = None
    docket_total_includes_tax: bool = True
    place: str = ""
    provenance: Mapping[str, str] = field(default_factory=dict)
    new_species: tuple[str, ...] = ()
    options: TallyOptions = field(default_factory=TallyOptions)


@dataclass(frozen=True, slots=True)
class ReceivedPiece:
    """One board as booked: its number and size, and its cost in parts that add up to `landed`."""

    number: str
    species: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    place: str
    row: int
    purchase: Decimal
    charges: Decimal
    landed: Decimal


@dataclass(frozen=True, slots=True)
class Receipt:
    """What was booked, or would be: how the sheet was read, every board, and sums that reconcile.

    booked: False when it was only looked at. measure: the footage it was sold by; the sizes are net.
    papers: what is wrong with its papers, a sentence each.
    """

    booked: bool
    supplier: str
    docket: str
    received_on: date
    currency: str
    sheet: str
    columns: tuple[ColumnTaken, ...]
    skipped: tuple[SkippedRow, ...]
    warnings: tuple[Fault, ...]
    pieces: tuple[ReceivedPiece, ...]
    purchase: Decimal
    charges: Decimal
    tax: Decimal
    recoverable_tax: Decimal
    landed: Decimal
    volume_mm3: int
    measure: Measure
    papers: tuple[str, ...] = ()


@uncollected()
def receive_delivery(
    open_work: "OpenWork", content: bytes, file_name: str, order: Order, *, only_look: bool = False
) -> Receipt:
    """Book every board of a tally at its landed cost, all or none.

    content: the file as it came (.csv or .xlsx). only_look: say what would be booked and write nothing.
    Raises BadInput with every fault of the sheet and the order together, AlreadyBooked for a docket that
    stands in the books.
    """
    with open_work(reading=True) as work:
        _refuse_twice(work, order)
        today, currency, known = work.today, work.workshop.currency, work.species.table()
    faults = _faults_of(order, today)
    provenance, gaps = _provenance_of(order, order.received_on or today)
    faults += gaps
    new = _new_species(order, known)
    known = known.adding(*new)
    tally = read_tally(content, file_name, replace(order.options, currency=currency))
    names, unknown = _species_of(tally, known)
    faults += [*tally.faults, *unknown]
    if faults:
        things = "one thing" if len(faults) == 1 else f"{len(faults)} things"
        raise BadInput(f"{file_name} cannot be booked: {things} to put right, nothing was written.", faults)
    cost = _cost_of(tally, order, names, known, currency)

    def book(work: "UnitOfWork") -> Receipt:
        _refuse_twice(work, order)
        for species in new:
            work.species.add(species)
        day = order.received_on or work.today
        work.deliveries.add(_delivery(tally, order, provenance, cost, day, currency, content, file_name))
        pieces = _pieces(work, tally, names, order)
        work.pieces.add(pieces)
        landed = [piece for line in cost.lines for piece in line]
        work.movements.book(
            Movement(
                kind=MovementKind.RECEIVE,
                lines=(
                    *(
                        Line(
                            piece=piece.number,
                            on_hand=1,
                            value=price.landed,
                            volume_mm3=volume_mm3(piece.length_mm, piece.width_mm, piece.thickness_mm),
                        )
                        for piece, price in zip(pieces, landed, strict=True)
                    ),
                    Line(account=Account.SUPPLIERS, value=-cost.total),
                ),
                effective=day,
                cause=f"docket {order.docket} of {order.supplier}",
                supplier=order.supplier,
                docket=order.docket,
            )
        )
        work.readings.add(_stated_readings(tally, pieces, day), cause=SUPPLIERS_WORD)
        receipt = _receipt(tally, order, cost, pieces, day, currency, booked=not only_look)
        return replace(receipt, papers=tuple(finding.detail for finding in findings(provenance)))

    return retried(open_work, book, keep=not only_look)


def _refuse_twice(work: "UnitOfWork", order: Order) -> None:
    already = work.deliveries.find(order.supplier, order.docket)
    if already is not None:
        raise AlreadyBooked(
            f"Docket {order.docket} of {order.supplier} was received on {already.received_on:%d %B %Y};"
            " a docket is booked once. Reverse that delivery first if it was booked wrongly."
        )


def _faults_of(order: Order, today: date) -> list[Fault]:
    faults = []
    if not order.supplier.strip():
        faults.append(Fault("--supplier", "the supplier's name", "nothing"))
    if not order.docket.strip():
        faults.append(Fault("--docket", "the docket's number", "nothing"))
    if order.received_on and order.received_on > today:
        faults.append(Fault("--date", f"a day up to today, {today}", str(order.received_on)))
    return faults


def _provenance_of(order: Order, day: date) -> tuple[Provenance, list[Fault]]:
    """What is known of the timber's origin, and what is wrong with how it was said."""
    said: dict[str, object] = {
        name: [part.strip() for part in value.split(",")] if name in ("claim_on", "documents") else value
        for name, value in order.provenance.items()
    }
    own = {"supplier": order.supplier, "docket": order.docket, "docket_date": day.isoformat()}
    try:
        return Provenance.from_json({**own, **said}), []
    except BadInput as refused:
        return Provenance(), list(refused.faults)


def _new_species(order: Order, known: SpeciesTable) -> list[Species]:
    new: list[Species] = []
    for name in order.new_species:
        if name not in known:
            species = Species(name=name.strip(), prefix=known.adding(*new).proposed_prefix(name))
            new.append(species)
    return new


def _species_of(tally: Tally, known: SpeciesTable) -> tuple[dict[str, str], list[Fault]]:
    """The yard's name for each species text of the sheet, and a fault for each row that has none."""
    names: dict[str, str] = {}
    faults = []
    for line in tally.lines:
        if line.species in known:
            names[line.species] = known.named(line.species).name
            continue
        near = known.near(line.species)
        like = f" (is it {' or '.join(near)}?)" if near else ""
        faults.append(
            Fault(
                f"row {line.row}, species",
                f"a species the yard knows{like}; or add it with --new-species",
                repr(line.species),
            )
        )
    return names, faults


def _cost_of(
    tally: Tally, order: Order, names: Mapping[str, str], known: SpeciesTable, currency: str
) -> LandedCost:
    by_mass = any(charge.share_by is ShareBy.MASS for charge in order.charges)
    densities = {text: known.named(name).density_kg_m3 for text, name in names.items()} if by_mass else {}

    def mass(line: TallyLine) -> Decimal | None:
        density = densities.get(line.species)
        return line.piece_mm3 * Decimal(str(density)) / 10**9 if density else None

    return landed_cost(
        [CostedLine(line.quantity, line.piece_mm3, line.purchase, mass(line)) for line in tally.lines],
        currency,
        charges=order.charges,
        tax=order.tax,
        tax_included=bool(tally.tax_included),
        lot_total=tally.lot_total,
        docket_total=order.docket_total,
        docket_total_includes_tax=order.docket_total_includes_tax,
    )


def _delivery(
    tally: Tally,
    order: Order,
    provenance: Provenance,
    cost: LandedCost,
    day: date,
    currency: str,
    content: bytes,
    file_name: str,
) -> Delivery:
    charges: dict[str, Decimal] = {}
    for charge, amount in zip(order.charges, cost.charges, strict=True):
        charges[charge.name] = charges.get(charge.name, Decimal(0)) + amount
    return Delivery(
        supplier=order.supplier,
        docket=order.docket,
        received_on=day,
        currency=currency,
        measure=Measure(tally.measure.value),
        goods=cost.purchase,
        charges=charges,
        tax=cost.recoverable,
        total=cost.total + cost.recoverable,
        provenance={
            **provenance.as_json(),
            "rows": {str(line.row): stated for line in tally.lines if (stated := _stated_provenance(line))},
        },
        source_file=file_name,
        source_sha256=hashlib.sha256(content).hexdigest(),
    )


def _stated_provenance(line: TallyLine) -> dict[str, str]:
    stated = {
        "species as written": line.species,
        "mark": line.mark,
        "pack": line.pack,
        "grade": line.grade,
        "origin": line.origin,
        "claim": line.claim,
        "certificate": line.certificate,
    }
    return {name: value for name, value in stated.items() if value}


def _pieces(work: "UnitOfWork", tally: Tally, names: Mapping[str, str], order: Order) -> list[Piece]:
    counts = Counter[str]()
    for line in tally.lines:
        counts[names[line.species]] += line.quantity
    numbers = {species: iter(work.pieces.new_numbers(species, count)) for species, count in counts.items()}
    return [
        Piece(
            number=next(numbers[names[line.species]]),
            species=names[line.species],
            length_mm=float(line.length_mm),
            width_mm=float(line.width_mm),
            thickness_mm=float(line.thickness_mm),
            place=line.place or order.place,
            note=line.note,
            supplier=order.supplier,
            delivery=order.docket,
            row=line.row,
        )
        for line in tally.lines
        for _ in range(line.quantity)
    ]


def _stated_readings(tally: Tally, pieces: Sequence[Piece], day: date) -> list[MoistureReading]:
    stated = [line.moisture_pct for line in tally.lines for _ in range(line.quantity)]
    return [
        MoistureReading(
            piece=piece.number,
            taken_on=day,
            raw_pct=float(pct),
            corrected_pct=float(pct),
            rule=SUPPLIERS_WORD,
        )
        for piece, pct in zip(pieces, stated, strict=True)
        if pct is not None
    ]


def _receipt(
    tally: Tally,
    order: Order,
    cost: LandedCost,
    pieces: Sequence[Piece],
    day: date,
    currency: str,
    booked: bool,
) -> Receipt:
    costs = [piece for line in cost.lines for piece in line]
    received = tuple(
        ReceivedPiece(
            number=piece.number,
            species=piece.species,
            length_mm=piece.length_mm,
            width_mm=piece.width_mm,
            thickness_mm=piece.thickness_mm,
            place=piece.place,
            row=piece.row or 0,
            purchase=price.purchase,
            charges=sum(price.charges, Decimal(0)),
            landed=price.landed,
        )
        for piece, price in zip(pieces, costs, strict=True)
    )
    return Receipt(
        booked=booked,
        supplier=order.supplier,
        docket=order.docket,
        received_on=day,
        currency=currency,
        sheet=tally.sheet,
        columns=tally.columns,
        skipped=tally.skipped,
        warnings=tally.warnings,
        pieces=received,
        purchase=cost.purchase,
        charges=sum(cost.charges, Decimal(0)),
        tax=cost.tax,
        recoverable_tax=cost.recoverable,
        landed=cost.total,
        measure=Measure(tally.measure.value),
        volume_mm3=sum(volume_mm3(p.length_mm, p.width_mm, p.thickness_mm) for p in pieces),
    )
