"""A materials statement for the client: what timber is in the piece, from where, what is claimed."""

from typing import TYPE_CHECKING

from stockyard.services.trace_job import JobTrace, TracedBoard, trace_job
from stockyard.timber.provenance import Source

if TYPE_CHECKING:
    from stockyard.records import OpenWork

NO_CERTIFICATE = (
    "This workshop holds no chain-of-custody certificate of its own: what is claimed here is what its"
    " suppliers' papers state, and is not a claim on the finished piece."
)


def materials_statement(open_work: "OpenWork", job: str) -> str:
    """The statement as plain text, in lines of up to 78 characters. Raises NotFound for no such job.

    It names suppliers, dockets and origin; no prices, and no business numbers or addresses of suppliers.
    Only the supplier's claim is repeated: a workshop without a certificate passes none on.
    Source: FSC-STD-40-004, on what sales papers with a claim must state.
    """
    return written(trace_job(open_work, job))


def written(trace: JobTrace) -> str:
    """A trace as a statement for the client."""
    from textwrap import fill

    lines = [f"Materials statement: {trace.job}", "=" * len(f"Materials statement: {trace.job}")]
    boards = {board.number: board for board in trace.boards}
    for panel in trace.panels:
        state = "" if panel.made else ", promised and not cut yet"
        lines += [
            "",
            f"{panel.id}: {panel.length_mm:g} x {panel.width_mm:g} x {panel.thickness_mm:g} mm,"
            f" {panel.staves} staves{state}",
        ]
        alike: dict[str, list[str]] = {}
        for number in panel.boards:
            alike.setdefault(_board(boards[number]), []).append(number)
        lines += [fill(f"{', '.join(numbers)}: {told}", 78, initial_indent="  ", subsequent_indent="    ")
                  for told, numbers in alike.items()]  # fmt: skip
        claim = f"all its boards: {panel.claim}" if panel.claim else "none that holds for all its boards"
        lines.append(f"  Claim of the suppliers: {claim}.")
    if not trace.panels:
        lines += ["", "No timber is cut for it or promised to it yet."]
    if trace.missing:
        lines += ["", fill(f"Not made yet: {', '.join(trace.missing)}.", 78)]
    if trace.problems:
        lines += ["", "What the papers leave open:"]
        lines += [fill(f"{number}: {said}", 78, initial_indent="  ", subsequent_indent="    ")
                  for number, said in trace.problems]  # fmt: skip
    if any(board.provenance.claim for board in trace.boards):
        lines += ["", fill(NO_CERTIFICATE, 78)]
    return "\n".join(lines) + "\n"


def _board(board: TracedBoard) -> str:
    known = board.provenance
    wood = f"{board.species} ({known.species_botanical})" if known.species_botanical else board.species
    told = [wood]
    if board.docket:
        day = f" of {board.received_on:%d %B %Y}" if board.received_on else ""
        told.append(f"from {board.supplier}, docket {board.docket}{day}")
    grown = ", ".join(
        part for part in (known.place or board.written.get("origin", ""), known.state, known.country) if part
    )
    kind = "" if known.source is Source.UNKNOWN else known.source.value
    if grown or kind:
        told.append(f"{kind or 'grown'}{f' from {grown}' if grown else ''}")
    if known.harvested:
        told.append(f"harvested {known.harvested}")
    if board.claim:
        told.append(f'claimed "{board.claim}" under {known.certificate}')
    return "; ".join(told) + "."
