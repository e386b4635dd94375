"""Trace a job's timber: which boards, from whom, on which docket, under which claim, and what is missing."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from stockyard.services.allocate_plan import plan_of
from stockyard.timber.booked_plan import PlanStatus
from stockyard.timber.delivery import Delivery
from stockyard.timber.piece import Piece
from stockyard.timber.provenance import Paper, Provenance, findings, inherited_claim, panel_claim

if TYPE_CHECKING:
    from stockyard.records import OpenWork, UnitOfWork

NO_DOCKET = "No docket is known, so where it came from is not."


@dataclass(frozen=True, slots=True)
class TracedBoard:
    """A board and its papers.

    number: as it was cut or promised; an offcut has the papers of its first board. received_on: None without
    a docket. written: what the tally said of its row, by heading. claim: the one it carries, or "".
    problems: what is wrong with its papers, a sentence each.
    """

    number: str
    species: str
    supplier: str
    docket: str
    received_on: date | None
    provenance: Provenance
    written: Mapping[str, str]
    claim: str
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TracedPanel:
    """One panel and its boards. claim: the one that all its boards carry, or ""; made: cut."""

    id: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    species: str
    plan: int
    made: bool
    staves: int
    boards: tuple[str, ...]
    claim: str


@dataclass(frozen=True, slots=True)
class JobTrace:
    """A job's timber as the books know it, by what is cut or promised. missing: panels without timber yet."""

    job: str
    panels: tuple[TracedPanel, ...]
    boards: tuple[TracedBoard, ...]
    missing: tuple[str, ...]

    @property
    def problems(self) -> tuple[tuple[str, str], ...]:
        """What is wrong with any board's papers: its number and the sentence."""
        return tuple((board.number, said) for board in self.boards for said in board.problems)


def trace_job(open_work: "OpenWork", job: str) -> JobTrace:
    """Everything known of the timber of a job. Raises NotFound for no such job."""
    with open_work(reading=True) as work:
        booked = work.jobs.get(job)
        panels: list[TracedPanel] = []
        numbers: dict[str, None] = {}
        traced: dict[str, TracedBoard] = {}
        for kept in work.plans.find(job=booked.name):
            if kept.status not in (PlanStatus.ALLOCATED, PlanStatus.CUT):
                continue
            plan = plan_of(work, kept)
            wanted = {panel.id: panel for panel in plan.job.panels}
            boards = list(dict.fromkeys(stave.board for made in plan.panels for stave in made.staves))
            traced |= {board.number: board for board in trace_boards(work, boards)}
            numbers |= dict.fromkeys(boards)
            for made in plan.panels:
                if not made.staves:
                    continue
                own = tuple(dict.fromkeys(stave.board for stave in made.staves))
                panel = wanted[made.id]
                panels.append(
                    TracedPanel(
                        made.id,
                        panel.length_mm,
                        panel.width_mm,
                        panel.thickness_mm,
                        traced[own[0]].species,
                        kept.number,
                        kept.status is PlanStatus.CUT,
                        len(made.staves),
                        own,
                        panel_claim(traced[number].provenance for number in own),
                    )
                )
        served = {panel.id for panel in panels}
        missing = tuple(
            str(panel["id"]) for panel in booked.document["panels"] if str(panel["id"]) not in served
        )
        return JobTrace(booked.name, tuple(panels), tuple(traced[number] for number in numbers), missing)


def trace_board(open_work: "OpenWork", number: str) -> TracedBoard:
    """Everything known of one board's origin. Raises NotFound."""
    with open_work(reading=True) as work:
        return trace_boards(work, [number])[0]


def trace_boards(work: "UnitOfWork", numbers: Iterable[str]) -> list[TracedBoard]:
    """The papers of boards, in the order asked for. Raises NotFound for the first that is not there."""
    wanted = list(numbers)
    pieces = work.pieces.get_many(wanted)
    dockets = {(each.supplier, each.docket): each for each in work.deliveries.all()}
    table = work.species.table()
    traced = []
    for number in wanted:
        piece = pieces[number]
        delivery = dockets.get((piece.supplier or "", piece.delivery or ""))
        provenance, written = provenance_of(delivery, piece)
        if not provenance.species_botanical and piece.species in table:
            botanical = table.named(piece.species).botanical
            provenance = replace(provenance, species_botanical=" or ".join(botanical))
        problems = tuple(finding.detail for finding in findings(provenance))
        traced.append(
            TracedBoard(
                number=number,
                species=piece.species,
                supplier=piece.supplier or "",
                docket=piece.delivery or "",
                received_on=None if delivery is None else delivery.received_on,
                provenance=provenance,
                written=written,
                claim=inherited_claim(provenance),
                problems=problems if delivery is not None else (NO_DOCKET,),
            )
        )
    return traced


def provenance_of(delivery: Delivery | None, piece: Piece) -> tuple[Provenance, Mapping[str, str]]:
    """What the docket says of a piece, its own row of the tally first, and that row's words.

    A claim on a row of the tally stands on the docket, of which the tally is the list.
    """
    if delivery is None:
        return Provenance(), {}
    said = dict(delivery.provenance)
    row: Mapping[str, str] = dict(said.pop("rows", {})).get(str(piece.row), {})
    provenance = Provenance.from_json(said)
    claim = row.get("claim", "")
    if claim:
        provenance = replace(
            provenance,
            claim=claim,
            claim_on=provenance.claim_on | {Paper.DOCKET},
            certificate=row.get("certificate", "") or provenance.certificate,
        )
    return provenance, row
