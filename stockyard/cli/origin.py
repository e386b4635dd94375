"""job trace, job statement, export, import: where wood came from, and the whole yard as plain files."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.jobs import jobs
from stockyard.cli.session import session_of, write_file
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from stockyard.settings import ArchiveSheet

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's id.")]


@jobs.command("trace", epilog="Example: stockyard job trace hall-bench")
def trace(context: typer.Context, job: JobArgument) -> None:
    """Show what timber a job has, from whom, on which docket, and what its papers leave open."""
    from stockyard.services.trace_job import trace_job

    session = session_of(context)
    told = trace_job(session.open_work(), job)
    if session.as_json:
        say_json(told)
        return
    table(
        ("panel", "plan", "board", "species", "supplier", "docket", "claim"),
        (
            (panel.id, panel.plan, board.number, board.species, board.supplier, board.docket, board.claim)
            for panel in told.panels
            for board in told.boards
            if board.number in panel.boards
        ),
    )
    for panel in told.panels:
        say(
            f"{panel.id}: "
            + (f"all its boards carry {panel.claim}." if panel.claim else "no claim holds for it.")
        )
    for number, said in told.problems:
        say(f"{number}: {said}")
    if told.missing:
        say(f"No boards yet for {', '.join(told.missing)}.")


@jobs.command("statement", epilog="Example: stockyard job statement hall-bench --out statement.txt")
def statement(
    context: typer.Context,
    job: JobArgument,
    out: Annotated[Path | None, typer.Option(help="Write it into this file.")] = None,
) -> None:
    """Write a materials statement for the client: wood, supplier, docket, origin; no prices."""
    from stockyard.services.materials_statement import materials_statement

    session = session_of(context)
    text = materials_statement(session.open_work(), job)
    if out is not None:
        write_file(out, text)
    if session.as_json:
        say_json({"job": job, "text": text, "file": None if out is None else str(out)})
    elif out is not None:
        say(f"The statement is in {out}.")
    else:
        say(text.rstrip("\n"))


@app.command(short_help="Write the whole yard into an archive.", epilog="Example: stockyard export yard.zip")
def export(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file that is not there yet.")],
) -> None:
    """Write the whole yard, pictures and all, into one archive of plain CSV and JSON."""
    from stockyard.settings import export_yard

    session = session_of(context)
    sheet = export_yard(session.db, file)
    if session.as_json:
        say_json({**_counted(sheet), "file": str(sheet.file)})
    else:
        say(_told(sheet, sheet.file))
        say(f"Its digest: {sheet.digest}")


@app.command(
    "import",
    short_help="Fill an empty yard from an archive.",
    epilog="Example: stockyard import yard.zip --db other.db",
)
def import_(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="An archive made by `export`.")],
) -> None:
    """Fill an empty yard, where --db names, from an archive, and prove that nothing was lost."""
    from stockyard.settings import import_yard

    session = session_of(context)
    sheet = import_yard(file, session.db)
    if session.as_json:
        say_json({**_counted(sheet), "yard": sheet.yard})
        return
    say(_told(sheet, sheet.yard))
    say("Written out again they give the same counts, sums and digest.")


def _told(sheet: "ArchiveSheet", where: object) -> str:
    rows = sum(sheet.tables.values())
    return f"{rows:,} rows of {len(sheet.tables)} tables and {sheet.pictures} pictures are in {where}."


def _counted(sheet: "ArchiveSheet") -> dict[str, object]:
    return {
        "rows": sum(sheet.tables.values()),
        "tables": sheet.tables,
        "pictures": sheet.pictures,
        "digest": sheet.digest,
        "made": sheet.made,
    }
