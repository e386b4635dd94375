"""select: which boards make the panels, from the yard or from files alone."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.asking import ForbidOption, PinOption, PreferOption, SecondsOption, asked_of
from stockyard.cli.plan_text import print_plan
from stockyard.cli.session import bytes_of, session_of, write_file
from stockyard.cli.show import say, say_json

if TYPE_CHECKING:
    from stockyard.services.plan_job import Progress


@app.command(
    epilog="Example: stockyard select --stock stock.json --job job.json --out plan.json --seconds 20"
)
def select(
    context: typer.Context,
    name: Annotated[str | None, typer.Argument(metavar="[JOB]", help="A job kept in the yard.")] = None,
    stock: Annotated[Path | None, typer.Option(help="Instead of the yard: a stockyard.stock/1 file.")] = None,
    job: Annotated[Path | None, typer.Option(help="With --stock: a stockyard.job/1 file.")] = None,
    out: Annotated[Path | None, typer.Option(help="Put the plan here, as stockyard.plan/1.")] = None,
    seconds: SecondsOption = 30.0,
    pin: PinOption = None,
    forbid: ForbidOption = None,
    prefer: PreferOption = None,
    choices: Annotated[
        int | None, typer.Option(min=2, max=20, help="Offer so many really different good plans.")
    ] = None,
    spares: Annotated[
        bool,
        typer.Option("--spares", help="Say how likely the plan survives lost staves, and a spare."),
    ] = False,
    loss: Annotated[
        list[str] | None,
        typer.Option(
            metavar="[SPECIES=]PERCENT", help="With --spares: chance that a stave is lost; else by history."
        ),
    ] = None,
) -> None:
    """Choose the boards and cuts that make a job's panels at the least cost."""
    import json

    from stockyard.cli.select_more import offer_choices, print_spares, spares_document, survival

    session = session_of(context)
    from_files = stock is not None or job is not None
    if from_files and (stock is None or job is None or name is not None):
        raise typer.BadParameter("give either a job's id, or both --stock and --job")
    if not from_files and name is None:
        raise typer.BadParameter("give a job's id, or both --stock and --job")
    asked = asked_of(pin, forbid, prefer)
    if choices is not None:
        offer_choices(session, name, stock, job, choices, asked, seconds)
        return
    watch = None if session.as_json or not sys.stderr.isatty() else _watcher()
    if stock is not None and job is not None:
        from stockyard.services.select_from_files import select_from_files

        plan, given, document = select_from_files(
            bytes_of(stock), bytes_of(job), seconds=seconds, on_progress=watch, asked=asked
        )
        boards = {board.id: board for board in given.boards}
        number = None
    else:
        from stockyard.services.plan_job import plan_job

        kept = plan_job(session.open_work(), name or "", seconds=seconds, on_progress=watch, asked=asked)
        plan, boards, number = kept.plan, kept.boards, kept.booked.number
        document = dict(kept.booked.document)
    if out is not None:
        write_file(out, json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    told = survival(session, name, stock, job, plan, loss, seconds) if spares else None
    if session.as_json:
        more = {} if told is None else {"spares": spares_document(told)}
        say_json({**({} if number is None else {"plan": number}), **document, **more})
        return
    if number is not None:
        say(f"Plan {number} for {plan.job.id}")
    print_plan(plan, boards)
    if told is not None:
        print_spares(told, plan)
    if out is not None:
        say(f"The plan is in {out}.")
    if number is not None and plan.boards:
        say(f"Promise its boards with `stockyard allocate {number}`.")


def _watcher() -> "Callable[[Progress], None]":
    def show(progress: "Progress") -> None:
        best = "none yet" if progress.best is None else f"{progress.best:,.2f}"
        sys.stderr.write(f"\r{progress.seconds:6.1f} s  best {best}  at least {progress.bound:,.2f}   ")
        sys.stderr.flush()

    return show
