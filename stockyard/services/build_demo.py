"""Fill an empty yard with the invented workshop's deliveries, maps and jobs, each on its own day."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import partial
from typing import TYPE_CHECKING

from stockyard.errors import MissingPart
from stockyard.services import demo_yard
from stockyard.services.add_photo import AddedPhoto, GivenPicture, add_photo
from stockyard.services.climate_log import import_climate
from stockyard.services.correct_board import Correction, correct_board, move_boards
from stockyard.services.decide_suggestions import Which, accept_suggestions
from stockyard.services.demo_yard import Where
from stockyard.services.jobs import add_job
from stockyard.services.map_defects import Sketch, add_defect
from stockyard.services.read_moisture import add_reading
from stockyard.services.receive_delivery import Order, Receipt, receive_delivery
from stockyard.services.suggest_defects import Boards, suggest_defects
from stockyard.tally import Charge, ShareBy, Tax

if TYPE_CHECKING:
    from stockyard.records import OpenWork

_NEARLY_SURE = 0.9


@dataclass(frozen=True, slots=True)
class DemoYard:
    """What was booked: the receipts, the oldest first, and how much was written down about the boards.

    photographed: the faces, suggested and accepted: the flaws seen on them; none where OpenCV is not there.
    """

    receipts: tuple[Receipt, ...]
    readings: int
    defects: int
    measured: int
    jobs: tuple[str, ...]
    photographed: tuple[AddedPhoto, ...] = ()
    suggested: int = 0
    accepted: int = 0


def build_demo(open_work: "OpenWork") -> DemoYard:
    """Book the whole demo through the same services that people use, as if each thing was done on its day."""
    receipts = tuple(_receive(open_work, delivery) for delivery in demo_yard.deliveries())
    numbers = _numbers(receipts)
    arrived = {each.docket: each.received_on for each in demo_yard.deliveries()}

    def on_arrival(board: Where) -> "OpenWork":
        return _on(open_work, arrived[board.docket], 11)

    for placed in demo_yard.places():
        move_boards(on_arrival(placed.board), (numbers[placed.board],), placed.place, "stacked")
    for measured in demo_yard.measurements():
        facts = {name: getattr(measured, name) for name in measured.__dataclass_fields__ if name != "board"}
        correct_board(on_arrival(measured.board), numbers[measured.board], Correction(**facts), "laid out")
    for reading in demo_yard.readings():
        add_reading(
            _on(open_work, reading.taken_on, 14),
            numbers[reading.board],
            reading.raw_pct,
            meter=reading.meter,
            wood_c=reading.wood_c,
            taken_on=reading.taken_on,
            note=reading.note,
        )
    for flaw in demo_yard.defects():
        sketch = Sketch(
            kind=flaw.kind,
            face=flaw.face,
            box=flaw.box,
            polygon=flaw.polygon,
            line=flaw.line,
            depth_mm=flaw.depth_mm,
            opening_mm=flaw.opening_mm,
            note=flaw.note,
        )
        add_defect(on_arrival(flaw.board), numbers[flaw.board], sketch)
    for air in demo_yard.climates():
        if air.booked:
            read_on = _on(open_work, demo_yard.LOGGERS_READ, 9)
            import_climate(read_on, air.place, air.content, air.file_name, zone=demo_yard.ZONE)
    photographed, suggested, accepted = _photograph(open_work, numbers, on_arrival)
    jobs = demo_yard.jobs()
    for job in jobs:
        add_job(open_work, job.content)
    return DemoYard(
        receipts=receipts,
        readings=len(demo_yard.readings()),
        defects=len(demo_yard.defects()),
        measured=len(demo_yard.measurements()),
        jobs=tuple(job.name for job in jobs),
        photographed=photographed,
        suggested=suggested,
        accepted=accepted,
    )


def _photograph(
    open_work: "OpenWork", numbers: dict[Where, str], on_arrival: Callable[[Where], "OpenWork"]
) -> tuple[tuple[AddedPhoto, ...], int, int]:
    """Photograph some faces, read them, and accept what is nearly sure on the first; the rest waits."""
    added = []
    try:
        for photo in demo_yard.photos():
            given = tuple(GivenPicture(content, name) for name, content in photo.pictures)
            added.append(add_photo(on_arrival(photo.board), numbers[photo.board], photo.face, given))
    except MissingPart:
        return (), 0, 0  # without OpenCV's system libraries all but the photographs still works
    boards = tuple(dict.fromkeys(each.photo.piece for each in added))
    faces = suggest_defects(open_work, Boards(boards))
    accepted = accept_suggestions(
        open_work, Which(boards[:1], above=_NEARLY_SURE), because="looked at beside the board"
    )
    return tuple(added), sum(len(face.offers) for face in faces), len(accepted)


def _receive(open_work: "OpenWork", delivery: demo_yard.DemoDelivery) -> Receipt:
    order = Order(
        supplier=delivery.supplier,
        docket=delivery.docket,
        received_on=delivery.received_on,
        charges=tuple(
            Charge(each.name, each.amount, ShareBy(each.share_by), on_docket=each.on_docket)
            for each in delivery.charges
        ),
        tax=None if delivery.tax_pct is None else Tax(rate_pct=delivery.tax_pct),
        docket_total=delivery.docket_total,
        place=delivery.place,
        provenance=delivery.provenance,
    )
    booked_at = _on(open_work, delivery.received_on, 9)
    return receive_delivery(booked_at, delivery.content, delivery.file_name, order)


def _numbers(receipts: tuple[Receipt, ...]) -> dict[Where, str]:
    """The number that each board of the tallies was given."""
    numbers = {}
    for receipt in receipts:
        seen = Counter[int]()
        for piece in receipt.pieces:
            seen[piece.row] += 1
            numbers[Where(receipt.docket, piece.row, seen[piece.row])] = piece.number
    return numbers


def _on(open_work: "OpenWork", day: date, hour: int) -> "OpenWork":
    """The same yard on a day gone by."""
    zone = datetime.now().astimezone().tzinfo
    return partial(open_work, now=datetime.combine(day, time(hour), tzinfo=zone))
