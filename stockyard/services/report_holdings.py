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
from stockyard.timber import Window
from stockyard.timber.mapped_defect import DefectState, MappedDefect

if TYPE_CHECKING:
    from stockyard.records import OpenWork
    from stockyard.records.repositories.stock import HeldPiece


@dataclass(frozen=True, slots=True)
class HoldingsReport:
    """Grouped figures as plain rows, the last of them the total, on the evening of `as_of`."""

    as_of: date
    currency: str
    rows: tuple[Mapping[str, object], ...]


def report_holdings(open_work: "OpenWork", by: Sequence[str], as_of: date | None = None) -> HoldingsReport:
    """Pieces, gross and clear volume, lineal metres, board feet and worth of each group, and their total.

    by: any of species, thickness, place, status, docket. as_of: the end of that day; now when None.
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
        holdings = holdings_on(open_work, as_of)
    table = holdings_table(holdings, by, currency)
    return HoldingsReport(as_of or today, currency, tuple(table.to_dict("records")))


def holdings_on(open_work: "OpenWork", as_of: date | None = None) -> list[Holding]:
    """Every piece on hand by the end of a day, with its clear volume by that day's map; now when None."""
    with open_work(reading=True) as work:
        held = work.stock.held(as_of)
        numbers = [piece.number for piece in held]
        maps = work.defects.of_pieces(numbers) if as_of is None else work.defects.of_pieces_on(numbers, as_of)
    return [_holding(piece, maps.get(piece.number, ())) for piece in held]


def _holding(piece: "HeldPiece", mapped: Sequence[MappedDefect]) -> Holding:
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
