"""Report what is on hand on a day: how much of it, how much of that is clear, and what it is worth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.geometry.area import clip, covered_area
from stockyard.geometry.footprint import footprint
from stockyard.ledger.holding import Holding
from stockyard.services.jobs import habits_of
from stockyard.timber import Window
from stockyard.timber.job import MoistureRule
from stockyard.timber.mapped_defect import DefectState, MappedDefect

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork
    from stockyard.records.repositories.stock import HeldPiece


@dataclass(frozen=True, slots=True)
class HoldingsReport:
    """Grouped figures as plain rows, the last of them the total, on the evening of `as_of`."""

    as_of: date
    currency: str
    rows: tuple[Mapping[str, object], ...]


def report_holdings(open_work: "OpenWork", by: Sequence[str], as_of: date | None = None) -> HoldingsReport:
    """Pieces, gross and clear volume, lineal metres, board feet and worth of each group, and their total.

    by: any of species, thickness, section (width x thickness), place, status, kind, supplier, docket, age (in
    the yard) and moisture (the newest reading, against what jobs allow). as_of: the end of that day, or now.
    Raises BadInput for another group, or a day to come.
    """
    from stockyard.reports.holdings import GROUPS, holdings_table

    faults = [Fault("--by", f"one of {', '.join(GROUPS)}", name) for name in by if name not in GROUPS]
    with open_work(reading=True) as work:
        today, currency = work.today, work.workshop.currency
        if as_of is not None and as_of > today:
            faults.append(Fault("--as-of", f"a day up to today, {today}", str(as_of)))
        if faults:
            raise BadInput("The stock cannot be reported so.", faults)
        holdings = holdings_on(open_work, as_of, aged="age" in by, read="moisture" in by)
    table = holdings_table(holdings, by, currency)
    return HoldingsReport(as_of or today, currency, tuple(table.to_dict("records")))


def holdings_on(
    open_work: "OpenWork", as_of: date | None = None, *, aged: bool = False, read: bool = False
) -> list[Holding]:
    """Every piece on hand by the end of a day, with its clear volume by that day's map; now when None.

    aged, read: say too how long its timber has been in the yard, and how moist it is.
    """
    with open_work(reading=True) as work:
        held = work.stock.held(as_of)
        numbers = [piece.number for piece in held]
        maps = work.defects.of_pieces(numbers) if as_of is None else work.defects.of_pieces_on(numbers, as_of)
        day = as_of or work.today
        ages = _ages(work, held, day) if aged else {}
        states = _moisture_states(work, numbers, day) if read else {}
    return [
        _holding(piece, maps.get(piece.number, ()), ages.get(piece.number, ""), states.get(piece.number, ""))
        for piece in held
    ]


def _ages(work: "UnitOfWork", held: Sequence["HeldPiece"], day: date) -> dict[str, str]:
    """How long each piece's timber has been in the yard, in words: since its delivery, or its coming."""
    from stockyard.reports.standing import AGES, OLDEST

    dockets = {(each.supplier, each.docket): each.received_on for each in work.deliveries.all()}
    unknown = [piece.number for piece in held if (piece.supplier, piece.delivery) not in dockets]
    came = work.stock.first_days(unknown)
    ages = {}
    for piece in held:
        known = dockets.get((piece.supplier or "", piece.delivery or "")) or came[piece.number]
        days = (day - known).days
        ages[piece.number] = next((name for most, name in AGES if days <= most), OLDEST)
    return ages


def _moisture_states(work: "UnitOfWork", numbers: Sequence[str], day: date) -> dict[str, str]:
    """Below, within or above what jobs allow, by each piece's newest corrected reading up to that day."""
    settings = habits_of(work)
    rule = MoistureRule() if settings is None else settings.moisture
    low, high = f"{rule.min_pct:g}", f"{rule.max_pct:g}"
    states = {}
    for number, readings in work.readings.of_pieces(numbers).items():
        told = [
            each.corrected_pct
            for each in readings
            if each.void is None and each.corrected_pct is not None and each.taken_on <= day
        ]
        if not told:
            states[number] = "not read"
        elif told[-1] < rule.min_pct:
            states[number] = f"below {low} %"
        else:
            states[number] = f"{low} to {high} %" if told[-1] <= rule.max_pct else f"above {high} %"
    return states


def _holding(piece: "HeldPiece", mapped: Sequence[MappedDefect], age: str, moisture: str) -> Holding:
    gross = Decimal(piece.volume_mm3)
    return Holding(
        number=piece.number,
        species=piece.species,
        length_mm=piece.length_mm,
        width_mm=piece.width_mm,
        thickness_mm=piece.thickness_mm,
        place=piece.place,
        status=piece.status.value,
        docket=piece.delivery or "",
        gross_mm3=gross,
        clear_mm3=gross * (1 - _spoiled_share(piece, mapped)),
        worth=piece.value,
        kind=piece.kind.value,
        supplier=piece.supplier or "",
        age=age,
        moisture=moisture,
    )


def _spoiled_share(piece: "HeldPiece", mapped: Sequence[MappedDefect]) -> Decimal:
    """The share of a board's face that open weakening defects cover, on either face. [0..1]"""
    whole = Window(0, 0, max(1, int(piece.length_mm)), max(1, int(piece.width_mm)))
    boxes = [
        part
        for each in mapped
        if each.defect.weakening and each.state is DefectState.OPEN
        for box in footprint(each.defect.outline)
        if (part := clip(box, whole))
    ]
    return Decimal(covered_area(boxes, whole)) / whole.area_mm2 if boxes else Decimal(0)
