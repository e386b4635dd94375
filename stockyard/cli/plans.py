"""plan list, show; allocate, release: what was decided, and boards promised to it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.plan_text import print_plan
from stockyard.cli.session import session_of, write_file
from stockyard.cli.show import say, say_json, table
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.plan_job import KeptPlan

plans = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Look at the plans that were made.",
    epilog="Example: stockyard plan list",
)
app.add_typer(plans, name="plan")

PlanArgument = Annotated[int, typer.Argument(metavar="PLAN", help="The plan's number.")]


@plans.command("list", epilog="Example: stockyard plan list --job hall-bench")
def list_(
    context: typer.Context,
    job: Annotated[str | None, typer.Option(help="Only this job's plans.")] = None,
) -> None:
    """List the plans."""
    from stockyard.services.plan_job import list_plans

    session = session_of(context)
    found = list_plans(session.open_work(), job)
    if session.as_json:
        say_json(
            [
                {
                    "plan": booked.number,
                    "job": booked.job,
                    "status": booked.status.value,
                    "cost": booked.document["cost"],
                    "proof": booked.document["status"],
                    "boards": sorted(booked.seen),
                    "made": booked.at,
                }
                for booked in found
            ]
        )
        return
    table(
        (">plan", "job", "stands", ">cost", "proof", ">boards", "made", "by"),
        (
            (
                booked.number,
                booked.job,
                booked.status.value,
                f"{booked.document['cost']:,.2f}",
                booked.document["status"],
                len(booked.seen),
                f"{booked.at.astimezone():%Y-%m-%d %H:%M}",
                booked.who,
            )
            for booked in found
        ),
    )


@plans.command("show", epilog="Example: stockyard plan show 1 --svg drawings")
def show(
    context: typer.Context,
    number: PlanArgument,
    svg: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Draw its panel layouts and cut maps there.")
    ] = None,
) -> None:
    """Show a plan: each panel's staves, each board's cuts, what it costs and why each other board is out."""
    from stockyard.services.plan_job import show_plan

    session = session_of(context)
    kept = show_plan(session.open_work(), number)
    drawn = draw_plan(kept, svg) if svg is not None else []
    if session.as_json:
        say_json({"plan": kept.booked.number, "stands": kept.booked.status.value, **kept.booked.document})
        return
    say(f"Plan {kept.booked.number} for {kept.booked.job}, {kept.booked.status.value}")
    print_plan(kept.plan, kept.boards)
    if drawn:
        say(f"{len(drawn)} drawings in {svg}: " + ", ".join(path.name for path in drawn))


@app.command(short_help="Promise a plan's boards to it, all or none.", epilog="Example: stockyard allocate 1")
def allocate(context: typer.Context, number: PlanArgument) -> None:
    """Promise a plan's boards to it, all or none, after a look that each is still as the plan saw it."""
    from stockyard.services.allocate_plan import allocate_plan
    from stockyard.services.plan_job import show_plan

    session = session_of(context)
    open_work = session.open_work()
    if not session.as_json:
        _warn_of_steps(show_plan(open_work, number))
    steps = allocate_plan(open_work, number)
    boards = sorted(show_plan(open_work, number).booked.seen)
    if session.as_json:
        say_json({"plan": number, "boards": boards, "steps": [plain(step) for step in steps]})
        return
    say(f"Promised to plan {number}: {', '.join(boards)}.")
    if steps:
        say(f"Before cutting or glue-up: {len(steps)} steps; see `stockyard step list`.")


@app.command(epilog="Example: stockyard release 1")
def release(context: typer.Context, number: PlanArgument) -> None:
    """Give a plan's boards back to the rack."""
    from stockyard.services.plan_job import show_plan
    from stockyard.services.release_plan import release_plan

    session = session_of(context)
    open_work = session.open_work()
    release_plan(open_work, number)
    boards = sorted(show_plan(open_work, number).booked.seen)
    if session.as_json:
        say_json({"plan": number, "boards": boards})
    else:
        say(f"Plan {number} is released; free again: {', '.join(boards)}.")


def draw_plan(kept: "KeptPlan", folder: Path) -> list[Path]:
    """Draw a plan's panel layouts and cut maps into a folder. Returns the files."""
    from stockyard.drawings import cut_map, panel_layout

    drawn = []
    for made in kept.plan.panels:
        path = folder / f"plan-{kept.booked.number}-panel-{_file_name(made.id)}.svg"
        write_file(path, panel_layout(kept.plan, made.id, kept.boards))
        drawn.append(path)
    for cut in kept.plan.boards:
        path = folder / f"plan-{kept.booked.number}-board-{_file_name(cut.id)}.svg"
        write_file(path, cut_map(kept.plan, kept.boards[cut.id]))
        drawn.append(path)
    return drawn


def _file_name(text: str) -> str:
    return "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in text) or "_"


def _warn_of_steps(kept: "KeptPlan") -> None:
    wanted = [
        f"  {treatment.defect} with {treatment.method} (panel {made.id}, stave {place + 1})"
        for made in kept.plan.panels
        for place, stave in enumerate(made.staves)
        for treatment in stave.treat
    ]
    if wanted:
        say("This plan needs stabilising or filling:")
        say("\n".join(wanted))
        say("Cyanoacrylate bonds skin and its vapour stings; epoxy can sensitise skin:")
        say("gloves, eye protection, fresh air, and the label's own instructions.")
