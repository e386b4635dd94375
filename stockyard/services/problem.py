"""What a selection is asked from: a job and a stock, out of the yard or out of two files."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from stockyard.errors import BadInput, Fault, NotFound
from stockyard.measures.number import DecimalMark, parse_number
from stockyard.selection import read_job, read_stock
from stockyard.selection.wishes import Wishes
from stockyard.services.jobs import job_of
from stockyard.timber import Job, Stock
from stockyard.timber.piece import PieceKind, PieceStatus
from stockyard.timber.rack_query import RackQuery

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork


RACK = RackQuery(kinds=(PieceKind.BOARD, PieceKind.OFFCUT), status=(PieceStatus.FREE, PieceStatus.PROMISED))
"""Everything a selection looks at; what is promised already is named as such and left alone."""


@dataclass(frozen=True)
class Problem:
    """A job and the stock it is made from.

    versions: of the yard's boards, empty from files. received: since when boards are there, suppliers: whose
    they were, where known.
    """

    job: Job
    stock: Stock
    versions: Mapping[str, int] = field(default_factory=dict)
    received: Mapping[str, date] = field(default_factory=dict)
    suppliers: Mapping[str, str] = field(default_factory=dict)


def problem_from_files(stock_content: bytes, job_content: bytes) -> Problem:
    """The problem that a stockyard.stock/1 and a stockyard.job/1 state.

    Raises BadInput with every fault of both documents.
    """
    return Problem(read_job(job_content), read_stock(stock_content))


def problem_in_yard(open_work: "OpenWork", name: str) -> Problem:
    """A kept job and what is on the rack.

    Raises NotFound for no such job, BadInput when its document no longer reads.
    """
    with open_work(reading=True) as work:
        return problem_of(work, job_of(work, work.jobs.get(name)))


def problem_of(work: "UnitOfWork", job: Job) -> Problem:
    """A job and the rack as it stands."""
    pieces = work.pieces.find(RACK)
    days = {(each.supplier, each.docket): each.received_on for each in work.deliveries.all()}
    return Problem(
        job=job,
        stock=Stock(
            boards=tuple(work.pieces.boards_for_selection(RACK)),
            currency=work.workshop.currency,
            reserved={
                piece.number: f"promised to plan {piece.promised_to}"
                for piece in pieces
                if piece.promised_to is not None
            },
        ),
        versions={piece.number: piece.version for piece in pieces},
        received={
            piece.number: days[piece.supplier, piece.delivery]
            for piece in pieces
            if piece.supplier and piece.delivery and (piece.supplier, piece.delivery) in days
        },
        suppliers={piece.number: piece.supplier for piece in pieces if piece.supplier},
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """Wishes as a person words them.

    pin: "BOARD:PANEL", a stave of the board in that panel. forbid: "BOARD", left alone. prefer: "BOARD", as
    if it were paid for already, or "BOARD=AMOUNT", as if it cost so much less.
    """

    pin: tuple[str, ...] = ()
    forbid: tuple[str, ...] = ()
    prefer: tuple[str, ...] = ()


NOTHING_ASKED = Asked()


def wishes_of(problem: Problem, asked: Asked) -> Wishes:
    """What is asked, as selection takes it.

    Raises BadInput with every wish that cannot be meant.
    """
    pin, forbid, prefer = asked.pin, asked.forbid, asked.prefer
    boards = {board.id: board for board in problem.stock.boards}
    panels = {panel.id for panel in problem.job.panels}
    faults: list[Fault] = []
    must = set()
    for text in pin:
        board, _, panel = text.partition(":")
        if board not in boards or panel not in panels:
            faults.append(
                Fault("pin", "a board of the stock and a panel of the job, BOARD:PANEL", repr(text))
            )
        must.add((board, panel))
    faults += [Fault("forbid", "a board of the stock", repr(n)) for n in forbid if n not in boards]
    extra = {}
    for text in prefer:
        name, given, amount = text.partition("=")
        worth = amount_in(amount) if given else boards[name].value if name in boards else None
        if name not in boards or worth is None or worth <= 0:
            faults.append(Fault("prefer", "a board of the stock, BOARD or BOARD=AMOUNT", repr(text)))
        else:
            extra[name] = -worth
    faults += [Fault("forbid", "a board that is not pinned too", n) for n, _ in sorted(must) if n in forbid]
    if faults:
        raise BadInput("These wishes cannot be meant.", faults)
    return Wishes(forbid=frozenset(forbid), extra=extra, must=frozenset(must))


def amount_in(text: str) -> Decimal | None:
    """The number a text states, with a decimal point; None when it is none."""
    try:
        return parse_number(text, DecimalMark.POINT)
    except BadInput:
        return None


def refuse_unknown_panel(job: Job, name: str) -> None:
    """Raises NotFound, with the panels there are, where the job has no such panel."""
    if name not in {panel.id for panel in job.panels}:
        raise NotFound("panel", name, [panel.id for panel in job.panels])
