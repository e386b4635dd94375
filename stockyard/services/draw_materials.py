"""Draw a job's materials statement for the client: what timber is in it, from where, and what is claimed."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from stockyard.drawings.drawing import Drawing
from stockyard.drawings.written import Block, Field, Heading, Listing, Paragraph, Signing, written_sheets
from stockyard.services.materials_statement import NO_CERTIFICATE
from stockyard.services.trace_job import JobTrace, TracedBoard, TracedPanel, trace_job
from stockyard.timber.provenance import Source

if TYPE_CHECKING:
    from stockyard.records import OpenWork


def draw_materials(open_work: "OpenWork", job: str) -> Drawing:
    """The materials statement of a job on A4, without prices or suppliers' business numbers.

    Raises NotFound for no such job.
    """
    trace = trace_job(open_work, job)
    blocks = [
        *(block for panel in trace.panels for block in _panel(trace, panel)),
        *_left_open(trace),
        Signing(("for the workshop", "date")),
    ]
    pages = written_sheets(trace.job, "materials statement", blocks, foot=("Sizes in mm, finished.", ""))
    return Drawing(f"materials-{trace.job}", f"Materials statement of {trace.job}", tuple(pages))


def _panel(trace: JobTrace, panel: TracedPanel) -> Iterator[Block]:
    boards = {board.number: board for board in trace.boards}
    size = f"{panel.length_mm:g} × {panel.width_mm:g} × {panel.thickness_mm:g}"
    yield Heading(f"{panel.id}, {size}, {panel.staves} staves")
    if not panel.made:
        yield Paragraph("Its boards are promised and not cut yet.")
    yield Listing(
        (
            Field("board", 20, bold=True),
            Field("wood", 42),
            Field("from", 45),
            Field("grown", 45),
            Field("claim of its papers", 30),
        ),
        [_row(boards[number]) for number in panel.boards],
    )
    yield Paragraph(
        f"All its boards carry the suppliers' claim {panel.claim}."
        if panel.claim
        else "No claim holds for all its boards."
    )


def _row(board: TracedBoard) -> tuple[str, ...]:
    known = board.provenance
    botanical = f" ({known.species_botanical})" if known.species_botanical else ""
    day = f", {board.received_on:%d %B %Y}" if board.received_on else ""
    docket = f"{board.supplier}, docket {board.docket}{day}" if board.docket else "not known"
    place = ", ".join(part for part in (known.place, known.state, known.country) if part)
    grown = "; ".join(
        part
        for part in (
            "" if known.source is Source.UNKNOWN else known.source.value,
            place,
            f"harvested {known.harvested}" if known.harvested else "",
        )
        if part
    )
    claim = f"{board.claim}, {known.certificate}" if board.claim else "none"
    return board.number, f"{board.species}{botanical}", docket, grown or "not known", claim


def _left_open(trace: JobTrace) -> Iterator[Block]:
    if not trace.panels:
        yield Paragraph("No timber is cut for it or promised to it yet.")
    if trace.missing:
        yield Paragraph(f"Not made yet: {', '.join(trace.missing)}.")
    if trace.problems:
        yield Heading("What the papers leave open")
        for number, said in trace.problems:
            yield Paragraph(f"{number}: {said}", indent_mm=3)
    if any(board.provenance.claim for board in trace.boards):
        yield Paragraph(NO_CERTIFICATE)
