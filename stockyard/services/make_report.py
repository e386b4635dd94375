"""Make a report by name, from what the books say of a day or of a run of days."""

from collections import Counter
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault
from stockyard.timber.mapped_defect import DefectOrigin
from stockyard.timber.piece import Piece, PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork
    from stockyard.reports.facts import FoundDefect, PieceFacts, StandingPiece
    from stockyard.reports.report import Report

OF_A_DAY = ("stock", "age", "moisture")
"""Reports of what stands on a day."""

OF_DAYS = ("worth", "recovery", "offcuts", "defects", "journal")
"""Reports of what happened in a run of days."""


def make_report(
    open_work: "OpenWork",
    name: str,
    *,
    as_of: date | None = None,
    since: date | None = None,
    until: date | None = None,
) -> "Report":
    """The report of that name.

    as_of: the day it is of, today when None. since, until: its first and last day; from the first movement,
    and up to today, when None. Raises BadInput with every fault: no such report, days it has no use for, days
    to come, or the wrong way round.
    """
    with open_work(reading=True) as work:
        _refuse(name, as_of, since, until, work.today)
        if name in OF_A_DAY:
            return _of_a_day(work, name, as_of or work.today, whole=as_of is None)
        return _of_days(work, name, since, until or work.today)


def _refuse(name: str, as_of: date | None, since: date | None, until: date | None, today: date) -> None:
    faults = []
    if name not in (*OF_A_DAY, *OF_DAYS):
        faults.append(Fault("report", f"one of {', '.join((*OF_A_DAY, *OF_DAYS))}", repr(name)))
    if name in OF_DAYS and as_of is not None:
        faults.append(Fault("--as-of", f"--from and --to, {name} being of a run of days", str(as_of)))
    if name in OF_A_DAY and (since or until):
        faults.append(Fault("--from, --to", f"--as-of, {name} being of one day", str(since or until)))
    for where, day in (("--as-of", as_of), ("--from", since), ("--to", until)):
        if day is not None and day > today:
            faults.append(Fault(where, f"a day up to today, {today}", str(day)))
    if since and until and since > until:
        faults.append(Fault("--from", f"a day up to {until}", str(since)))
    if faults:
        raise BadInput("There is no such report.", faults)


def _of_a_day(work: "UnitOfWork", name: str, day: date, whole: bool) -> "Report":
    from stockyard.reports import standing

    make = {"stock": standing.stock_report, "age": standing.age_report, "moisture": standing.moisture_report}
    return make[name](_standing(work, None if whole else day), day, work.workshop.currency)


def _of_days(work: "UnitOfWork", name: str, since: date | None, until: date) -> "Report":
    from stockyard.reports import flow, recovery

    currency = work.workshop.currency
    movements = work.movements.all(until)
    first = since or min((movement.effective for movement in movements), default=until)
    if name == "defects":
        found, boards = _defects(work, first, until)
        return recovery.defects_report(found, boards, first, until, currency)
    if name == "worth":
        return flow.worth_report(movements, first, until, currency)
    if name == "journal":
        return flow.journal_report(movements, first, until, currency)
    make = recovery.recovery_report if name == "recovery" else recovery.offcuts_report
    return make(movements, _facts(work), first, until, currency)


def _standing(work: "UnitOfWork", as_of: date | None) -> list["StandingPiece"]:
    from stockyard.reports.facts import StandingPiece

    held = work.stock.held(as_of)
    numbers = [piece.number for piece in held]
    arrived = _arrivals(work, numbers)
    read = {
        number: [
            reading
            for reading in readings
            if reading.void is None
            and reading.corrected_pct is not None
            and (as_of is None or reading.taken_on <= as_of)
        ]
        for number, readings in work.readings.of_pieces(numbers).items()
    }
    return [
        StandingPiece(
            number=piece.number,
            kind=piece.kind.value,
            species=piece.species,
            length_mm=piece.length_mm,
            width_mm=piece.width_mm,
            thickness_mm=piece.thickness_mm,
            place=piece.place,
            status=piece.status.value,
            supplier=piece.supplier or "",
            docket=piece.delivery or "",
            arrived=arrived[piece.number],
            volume_mm3=piece.volume_mm3,
            worth=piece.value,
            moisture_pct=read[piece.number][-1].corrected_pct if read[piece.number] else None,
            moisture_on=read[piece.number][-1].taken_on if read[piece.number] else None,
        )
        for piece in held
    ]


def _arrivals(work: "UnitOfWork", numbers: list[str]) -> dict[str, date]:
    """When each piece's timber came: with its delivery, or when its first board came on hand."""
    pieces = _every(work)
    came = {(each.supplier, each.docket): each.received_on for each in work.deliveries.all()}

    @cache
    def first() -> dict[str, date]:
        return {
            line.piece: movement.effective
            for movement in reversed(work.movements.all())
            for line in movement.lines
            if line.piece is not None and line.on_hand > 0
        }

    def of(piece: Piece) -> date:
        known = came.get((piece.supplier or "", piece.delivery or ""))
        if known is not None:
            return known
        return of(pieces[piece.parent]) if piece.parent else first()[piece.number]

    return {number: of(pieces[number]) for number in numbers}


def _facts(work: "UnitOfWork") -> Mapping[str, "PieceFacts"]:
    from stockyard.reports.facts import PieceFacts

    return {
        number: PieceFacts(piece.kind.value, piece.species, piece.supplier or "")
        for number, piece in _every(work).items()
    }


def _defects(work: "UnitOfWork", since: date, until: date) -> tuple[list["FoundDefect"], Counter[str]]:
    """Defects found on boards delivered in those days, and how many boards each supplier delivered."""
    from stockyard.reports.facts import FoundDefect

    came = {
        (each.supplier, each.docket): each.supplier
        for each in work.deliveries.all()
        if since <= each.received_on <= until
    }
    boards = {
        number: piece.supplier or ""
        for number, piece in _every(work).items()
        if piece.kind is PieceKind.BOARD and (piece.supplier, piece.delivery) in came
    }
    found = [
        FoundDefect(number, boards[number], mapped.defect.kind.value)
        for number, defects in work.defects.of_pieces(boards).items()
        for mapped in defects
        if mapped.origin is not DefectOrigin.INHERITED
    ]
    return found, Counter(boards.values())


def _every(work: "UnitOfWork") -> dict[str, Piece]:
    """Every piece there ever was."""
    return {piece.number: piece for piece in work.pieces.find(RackQuery(status=tuple(PieceStatus)))}
