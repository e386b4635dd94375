"""Count what stands in a place: begin, read numbers off the rack, look, and book what the count came to."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from stockyard.errors import BadInput, BoardNotFree, Fault, Refused
from stockyard.ledger import CountFindings, balanced, count_findings
from stockyard.records import retried
from stockyard.services.correct_board import beyond, correct_within, impossible
from stockyard.timber.movement import Account, Line, Movement, MovementKind
from stockyard.timber.piece import Piece, PieceStatus
from stockyard.timber.rack_query import RackQuery
from stockyard.timber.stocktake import Scan, Seen, Size, Stocktake

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

FINDINGS = ("missing", "misplaced", "unknown", "gone", "remeasured", "meanwhile", "found")
"""What can be said of a number in a count, what must be looked at first."""


@dataclass(frozen=True, slots=True)
class CountLine:
    """One number of a count: what was found of it, in words; worth of what is missing, exact money."""

    number: str
    finding: str
    told: str = ""
    worth: Decimal | None = None


@dataclass(frozen=True, slots=True)
class CountSheet:
    """What a count came to, or would. state: "open", "booked" or "dropped".

    expected: how many stood there when it began. lines: by finding, then number. movements: booked losses.
    """

    number: int
    place: str
    state: str
    started: datetime
    started_by: str
    expected: int
    currency: str
    lines: tuple[CountLine, ...]
    movements: tuple[int, ...] = ()

    @property
    def counts(self) -> Mapping[str, int]:
        """How many lines of each finding, every finding named."""
        found = Counter(line.finding for line in self.lines)
        return {finding: found[finding] for finding in FINDINGS}


def start_stocktake(open_work: "OpenWork", place: str) -> CountSheet:
    """Begin a count of a place; what stands there now, staves in work aside, is expected.

    Raises NotFound for a place where nothing ever stood, Refused while it is being counted already.
    """
    return retried(open_work, lambda work: _sheet(work, work.stocktakes.start(place.strip())))


def read_numbers(
    open_work: "OpenWork",
    numbers: Sequence[str],
    *,
    stocktake: int | None = None,
    size_mm: Size | None = None,
    take_back: bool = False,
) -> CountSheet:
    """Write down numbers as `note_numbers` does, and say what the count comes to so far."""
    count = note_numbers(open_work, numbers, stocktake=stocktake, size_mm=size_mm, take_back=take_back)
    return show_stocktake(open_work, count)


def note_numbers(
    open_work: "OpenWork",
    numbers: Sequence[str],
    *,
    stocktake: int | None = None,
    size_mm: Size | None = None,
    take_back: bool = False,
) -> int:
    """Write down numbers read off the rack, in any case. Returns the number of the count they went into.

    numbers: as typed or scanned; of a label that holds an address, its last part is the number.
    stocktake: the only open one when None. size_mm: length, width and thickness as measured, for one number.
    take_back: they were read by mistake. Raises NotFound, Refused when the count is closed, and BadInput when
    it is not clear which count is meant, or with every fault of the size.
    """
    read = tuple(dict.fromkeys(word for word in map(_read_number, numbers) if word))
    faults = [] if read else [Fault("numbers", "one or more numbers of boards")]
    if size_mm is not None and (len(read) > 1 or take_back):
        faults.append(Fault("size", "one board that is counted", f"{len(read)} numbers"))
    facts = _facts(size_mm) if size_mm is not None else {}
    faults += impossible(facts)
    if faults:
        raise BadInput("Nothing was counted.", faults)

    def add(work: "UnitOfWork") -> int:
        count = _open_one(work, stocktake)
        known = _known(work, read)
        off = beyond(work, read[0], facts) if facts and read[0] in known else []
        if off:
            raise BadInput(f"{read[0]} cannot be that small while its map says otherwise.", off)
        work.stocktakes.add(
            count.number,
            [
                Scan(number, not take_back, size_mm, _seen(known[number]) if number in known else None)
                for number in read
            ],
        )
        return count.number

    return retried(open_work, add)


def list_stocktakes(open_work: "OpenWork") -> tuple[Stocktake, ...]:
    """Every count there was, the oldest first."""
    with open_work(reading=True) as work:
        return work.stocktakes.all()


def show_stocktake(open_work: "OpenWork", stocktake: int | None = None) -> CountSheet:
    """What a count comes to so far; as it was booked once it is closed. None: the only open one."""
    with open_work(reading=True) as work:
        count = _the_open(work) if stocktake is None else work.stocktakes.get(stocktake)
        return _sheet(work, count)


def book_stocktake(open_work: "OpenWork", stocktake: int | None = None, *, reason: str = "") -> CountSheet:
    """Book what a count came to, all or nothing, and close it.

    Misplaced pieces are moved, remeasured ones corrected without changing what they stand for, missing ones
    booked out as losses, each by a movement of its own, so that one that turns up can be taken back.
    reason: why pieces are missing. Raises BadInput without one where any are, BoardNotFree when a missing one
    is promised, Refused when the count is closed or nothing was counted.
    """
    return retried(open_work, lambda work: _book(work, stocktake, reason.strip()))


def drop_stocktake(open_work: "OpenWork", stocktake: int | None = None) -> CountSheet:
    """Close a count without booking anything of it. Raises as `book_stocktake` does."""

    def drop(work: "UnitOfWork") -> CountSheet:
        count = _open_one(work, stocktake)
        return _close(work, count, _findings(work, count), "dropped", ())

    return retried(open_work, drop)


def _book(work: "UnitOfWork", stocktake: int | None, reason: str) -> CountSheet:
    count = _open_one(work, stocktake)
    scans = work.stocktakes.scans(count.number)
    if not any(scan.counted for scan in scans):
        raise Refused(
            f"Nothing has been counted in {count.place}; count first, or drop stocktake {count.number}."
        )
    # Held before they are judged, so that nothing moves between the judgement and the booking.
    work.pieces.lock(_known(work, _numbers(work, count, scans)))
    found = _findings(work, count)
    pieces = work.pieces.get_many(found.missing)
    promised = [piece for piece in pieces.values() if piece.promised_to is not None]
    if promised:
        named = ", ".join(f"{piece.number} to plan {piece.promised_to}" for piece in promised)
        raise BoardNotFree(f"Missing boards are promised ({named}); find them, or release those plans first.")
    if found.missing and not reason:
        raise BadInput(
            f"{len(found.missing)} missing from {count.place}; nothing was booked.",
            [Fault("reason", "why they are missing", ", ".join(found.missing))],
        )
    sheet = _judged(work, count, found, "booked")
    cause = f"stocktake {count.number} of {count.place}"
    for each in found.remeasured:
        correct_within(work, each.number, _facts(each.now_mm), cause)
    for number in found.misplaced:
        work.pieces.change(number, cause=cause, place=count.place)
    movements = tuple(
        work.movements.book(
            Movement(
                MovementKind.COUNT,
                balanced([Line(number, -1, 0, -piece.value, -piece.volume_mm3)], Account.LOSSES),
                work.today,
                f"{cause}: {reason}",
            )
        )
        for number, piece in pieces.items()
    )
    return _close(work, count, found, "booked", movements, sheet.lines)


def _close(
    work: "UnitOfWork",
    count: Stocktake,
    found: CountFindings,
    state: str,
    movements: tuple[int, ...],
    lines: tuple[CountLine, ...] | None = None,
) -> CountSheet:
    told = _judged(work, count, found, state).lines if lines is None else lines
    outcome = {
        "state": state,
        "movements": list(movements),
        "lines": [
            [each.number, each.finding, each.told, None if each.worth is None else str(each.worth)]
            for each in told
        ],
    }
    work.stocktakes.close(count.number, outcome)
    return _sheet(work, work.stocktakes.get(count.number))


def _sheet(work: "UnitOfWork", count: Stocktake) -> CountSheet:
    outcome = count.outcome
    if outcome is None:
        return _judged(work, count, _findings(work, count), "open")
    return CountSheet(
        number=count.number,
        place=count.place,
        state=outcome["state"],
        started=count.at,
        started_by=count.who,
        expected=len(work.stocktakes.expected(count.number)),
        currency=work.workshop.currency,
        lines=tuple(
            CountLine(number, finding, told, None if worth is None else Decimal(worth))
            for number, finding, told, worth in outcome["lines"]
        ),
        movements=tuple(outcome["movements"]),
    )


def _judged(work: "UnitOfWork", count: Stocktake, found: CountFindings, state: str) -> CountSheet:
    pieces = work.pieces.get_many({*found.missing, *found.misplaced, *found.gone})
    lines = [
        *(
            CountLine(number, "missing", pieces[number].species, pieces[number].value)
            for number in found.missing
        ),
        *(
            CountLine(number, "misplaced", f"by the books in {pieces[number].place or 'no place'}")
            for number in found.misplaced
        ),
        *(CountLine(number, "unknown", "no such number in the books") for number in found.unknown),
        *(CountLine(number, "gone", _told_gone(work, pieces[number])) for number in found.gone),
        *(
            CountLine(each.number, "remeasured", f"{_told_size(each.was_mm)} -> {_told_size(each.now_mm)}")
            for each in found.remeasured
        ),
        *(CountLine(number, "meanwhile", "moved or cut while counting") for number in found.meanwhile),
        *(CountLine(number, "found") for number in found.found),
    ]
    return CountSheet(
        number=count.number,
        place=count.place,
        state=state,
        started=count.at,
        started_by=count.who,
        expected=len(work.stocktakes.expected(count.number)),
        currency=work.workshop.currency,
        lines=tuple(lines),
    )


def _findings(work: "UnitOfWork", count: Stocktake) -> CountFindings:
    scans = work.stocktakes.scans(count.number)
    return count_findings(
        count.place,
        work.stocktakes.expected(count.number),
        scans,
        _known(work, _numbers(work, count, scans)),
        work.stocktakes.touched(count.number),
    )


def _numbers(work: "UnitOfWork", count: Stocktake, scans: Iterable[Scan]) -> set[str]:
    return {scan.number for scan in scans} | set(work.stocktakes.expected(count.number))


def _known(work: "UnitOfWork", numbers: Iterable[str]) -> dict[str, Piece]:
    """Those of the numbers that the books know, gone ones too."""
    return {
        piece.number: piece
        for piece in work.pieces.find(RackQuery(numbers=tuple(numbers), status=tuple(PieceStatus)))
    }


def _open_one(work: "UnitOfWork", stocktake: int | None) -> Stocktake:
    """The count meant, held and still open."""
    number = _the_open(work).number if stocktake is None else stocktake
    count = work.stocktakes.get(number, hold=True)
    if not count.is_open:
        raise Refused(f"Stocktake {number} of {count.place} is closed; start another.")
    return count


def _the_open(work: "UnitOfWork") -> Stocktake:
    still = [count for count in work.stocktakes.all() if count.is_open]
    if len(still) == 1:
        return still[0]
    if not still:
        raise BadInput("No count is open; start one, or name the one you mean by its number.")
    named = ", ".join(f"{count.number} of {count.place}" for count in still)
    raise BadInput(f"Several counts are open ({named}); name one by its number.")


def _read_number(scanned: str) -> str:
    return scanned.strip().rstrip("/").rpartition("/")[2].upper()


def _seen(piece: Piece) -> Seen:
    return Seen(piece.on_hand, piece.place, (piece.length_mm, piece.width_mm, piece.thickness_mm))


def _facts(size_mm: Size) -> dict[str, Any]:
    return dict(zip(("length_mm", "width_mm", "thickness_mm"), size_mm, strict=True))


def _told_size(size_mm: Size) -> str:
    return " x ".join(f"{each:g}" for each in size_mm)


def _told_gone(work: "UnitOfWork", piece: Piece) -> str:
    ends = [
        movement
        for movement in work.movements.of_piece(piece.number)
        if any(line.piece == piece.number and line.on_hand < 0 for line in movement.lines)
    ]
    if not ends:
        return "not on hand by the books"
    return f"by the books gone since movement {ends[-1].id} ({ends[-1].kind.value.replace('_', ' ')})"
