"""prep, quote, habits: the road to the bench, what a job will cost, and the figures both rest on."""

from math import isinf
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli.app import app
from stockyard.cli.plans import PlanArgument
from stockyard.cli.read import amount_of, day_of, number_of
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.prep.joints import JointKind

_JOINTS = ("biscuit", "dowel", "spline", "plain")


@app.command(short_help="Print a plan's bench sheet.", epilog="Example: stockyard prep 1 --start 2026-12-01")
def prep(
    context: typer.Context,
    number: PlanArgument,
    start: Annotated[str | None, typer.Option(help="The day on which work begins; now if not said.")] = None,
    joint: Annotated[str | None, typer.Option(help=f"One of {', '.join(_JOINTS)}.")] = None,
    later_cut: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PANEL:MM",
            help="Where a finished panel will be cut again, from its first end; may be repeated.",
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also print it, with its panels' layouts, to this .pdf or .svg."),
    ] = None,
) -> None:
    """Print what a plan needs at the bench, in order: marks, treatments, joints, glue-ups, dates, cautions.

    Figures are the trade's habits unless you set your own (`stockyard habits`). Labels and local rules come
    before anything said here.
    """
    from stockyard.services.prepare_plan import prepare_plan

    session = session_of(context)
    prepared = prepare_plan(
        session.open_work(),
        number,
        start=day_of(start, "--start"),
        joint=_joint(joint),
        later_cuts_mm=_cuts(later_cut or ()),
    )
    files = []
    if out is not None:
        from stockyard.cli.sheet import write_drawing
        from stockyard.services.draw_bench import bench_drawing

        files = write_drawing(bench_drawing(prepared), out)
    if session.as_json:
        say_json(
            {
                "plan": prepared.booked.number,
                "stands": prepared.booked.status.value,
                **_bounded(plain(prepared.sheet)),
                "treated_already": list(prepared.done),
                "habits": _habits_json(prepared.habits),
                "notes": list(prepared.notes),
                "files": [str(file) for file in files],
            }
        )
        return
    from stockyard.cli.prep_text import print_sheet

    print_sheet(prepared)
    if files:
        say()
        say(f"Printed to {', '.join(str(file) for file in files)}; print at 100 %.")


@app.command(short_help="Quote a job before committing to it.", epilog="Example: stockyard quote hall-bench")
def quote(
    context: typer.Context,
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's id.")],
    plan: Annotated[int | None, typer.Option(help="From this plan; its newest if not said.")] = None,
    buy_at: Annotated[
        str | None,
        typer.Option(metavar="AMOUNT", help="The price of a cubic metre, for panels that no plan makes."),
    ] = None,
    minutes: Annotated[
        str, typer.Option(help="Other labour, in minutes: what the bench sheet does not count.")
    ] = "0",
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep it, so that `job cost` holds the job to it.")
    ] = False,
) -> None:
    """Quote a job: timber, offcuts, treatments, glue, finish, labour, profit and tax, and what is assumed."""
    from stockyard.services.job_cost import keep_quote
    from stockyard.services.quote_job import quote_job

    session = session_of(context)
    buy_at_m3 = None if buy_at is None else amount_of(buy_at, "--buy-at")
    more = amount_of(minutes, "--minutes")
    if keep:
        quoted, _ = keep_quote(session.open_work(), job, plan=plan, buy_at_m3=buy_at_m3, more_minutes=more)
    else:
        quoted = quote_job(session.open_work(), job, plan=plan, buy_at_m3=buy_at_m3, more_minutes=more)
    if session.as_json:
        say_json(
            {
                "job": quoted.job,
                "plan": quoted.plan.number if quoted.plan else None,
                "to_buy": list(quoted.to_buy),
                **plain(quoted.quote),
                "rates": plain(quoted.rates),
                "notes": list(quoted.notes),
            }
        )
        return
    from stockyard.cli.prep_text import print_quote

    print_quote(quoted)
    if keep:
        say(f"Kept; `stockyard job cost {job}` holds the job to it.")


@app.command(short_help="Show or set your own bench figures.", epilog="Example: stockyard habits ours.json")
def habits(
    context: typer.Context,
    file: Annotated[
        Path | None,
        typer.Argument(help="A stockyard.habits/1 document of what differs; what stands is shown if none."),
    ] = None,
) -> None:
    """Show the figures that readiness, bench sheets and quotes rest on, or set your own from a document."""
    from stockyard.services.habits import document_of, set_habits, show_habits

    session = session_of(context)
    open_work = session.open_work()
    standing = show_habits(open_work) if file is None else set_habits(open_work, bytes_of(file))
    document = document_of(standing)
    if session.as_json:
        say_json(document)
        return
    table(
        ("habit", ">figure", "whose"),
        (
            (
                f"{section}.{name}",
                _figure(value),
                "own" if f"{section}.{name}" in standing.own else "default",
            )
            for section, figures in document.items()
            if isinstance(figures, dict)
            for name, value in figures.items()
        ),
    )


def _bounded(value: Any) -> Any:
    """The sheet with null where a barred stretch of a glue line has no end: JSON knows no infinity."""
    if isinstance(value, dict):
        return {key: _bounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_bounded(item) for item in value]
    return None if isinstance(value, float) and isinf(value) else value


def _habits_json(habits_: object) -> object:
    from stockyard.prep.bench import PrepHabits
    from stockyard.services.habits import Habits, document_of

    assert isinstance(habits_, PrepHabits)
    document = document_of(Habits(prep=habits_))
    return {name: document[name] for name in ("treatment", "joints", "glue", "work", "hours")}


def _figure(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(str(each) for each in value)
    if value is None:
        return "not set"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _joint(text: str | None) -> "JointKind | None":
    from stockyard.prep.joints import JointKind

    if text is None:
        return None
    if text.strip().casefold() not in _JOINTS:
        raise BadInput(f"--joint: expected one of {', '.join(_JOINTS)}, found {text!r}.")
    return JointKind(text.strip().casefold())


def _cuts(given: "list[str] | tuple[()]") -> dict[str, list[float]]:
    cuts: dict[str, list[float]] = {}
    for text in given:
        panel, colon, place = text.rpartition(":")
        if not colon or not panel:
            raise BadInput(f"--later-cut: expected PANEL:MM such as top:600, found {text!r}.")
        cuts.setdefault(panel, []).append(number_of(place, "--later-cut"))
    return cuts
