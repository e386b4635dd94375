"""job add, list, show, habits: what is to be made, and under which settings."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json, size, table

if TYPE_CHECKING:
    from stockyard.timber import Job

jobs = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Keep the jobs: the panels a piece of furniture asks for.",
    epilog="Example: stockyard job list",
)
app.add_typer(jobs, name="job")


@jobs.command("add", epilog="Example: stockyard job add hall-bench.json")
def add(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A job document, stockyard.job/1.")],
) -> None:
    """Keep a job document; handed in again under the same id it becomes the job's next version."""
    from stockyard.services.jobs import add_job

    session = session_of(context)
    booked = add_job(session.open_work(), bytes_of(file))
    if session.as_json:
        say_json({"job": booked.name, "version": booked.version})
    else:
        say(f"Job {booked.name} is kept, version {booked.version}.")


@jobs.command("list", epilog="Example: stockyard job list")
def list_(context: typer.Context) -> None:
    """List the jobs."""
    from stockyard.services.jobs import list_jobs

    session = session_of(context)
    found = list_jobs(session.open_work())
    if session.as_json:
        say_json([{"job": job.name, "version": job.version, "kept": job.at} for job in found])
        return
    table(
        ("job", ">version", ">panels", "kept", "by"),
        (
            (job.name, job.version, len(job.document["panels"]), f"{job.at.astimezone():%Y-%m-%d}", job.who)
            for job in found
        ),
    )


@jobs.command("show", epilog="Example: stockyard job show hall-bench")
def show(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="JOB", help="The job's id.")],
) -> None:
    """Show a job's panels, and every setting it will be planned under."""
    from stockyard.services.jobs import show_job

    session = session_of(context)
    booked, job = show_job(session.open_work(), name)
    if session.as_json:
        from stockyard.services.jobs import document_of

        say_json(document_of(job))
        return
    say(f"{job.id}, version {booked.version}")
    print_job(job)


@jobs.command("habits", epilog="Example: stockyard job habits our-settings.json")
def habits(
    context: typer.Context,
    file: Annotated[Path, typer.Argument(help="A job document; its panels are not kept.")],
) -> None:
    """Make a document's allowances, rules and costs the workshop's habits for jobs that leave them out."""
    from stockyard.services.jobs import document_of, set_habits

    session = session_of(context)
    job = set_habits(session.open_work(), bytes_of(file))
    if session.as_json:
        say_json(document_of(job))
    else:
        say("From now on jobs that leave a setting out are planned so:")
        print_settings(job)


def print_job(job: "Job") -> None:
    """A job's panels and settings as a person reads them."""
    table(
        ("panel", ">size, mm", "species", ">staves", ">stave width", "shows", ">priority"),
        (
            (
                panel.id,
                size(panel.length_mm, panel.width_mm, panel.thickness_mm),
                ", ".join(panel.species),
                f"{panel.staves_min} to {panel.staves_max}",
                f"{panel.stave_width_min_mm:g} to {panel.stave_width_max_mm:g}",
                panel.show.value,
                panel.priority,
            )
            for panel in job.panels
        ),
    )
    print_settings(job)


def print_settings(job: "Job") -> None:
    """Every setting of a job, whether it said so itself or took the workshop's."""
    a, m, c = job.allowances, job.moisture, job.costs
    lines = (
        ("ends", f"{a.end_trim_mm:g} mm trimmed off each stave, {a.board_end_loss_mm:g} mm off each board"),
        ("edges", f"{a.edge_joint_mm:g} mm jointed off each glued edge, {a.side_trim_mm:g} mm trimmed"),
        ("faces", f"{a.face_planing_mm:g} mm planed off each; kerf {a.kerf_mm:g} mm"),
        ("clear", f"{a.glue_clear_mm:g} mm beside glue lines, {a.end_clear_mm:g} mm inside ends"),
        ("offcuts", f"kept from {a.offcut_length_mm:g} x {a.offcut_width_mm:g} mm"),
        (
            "moisture",
            f"{m.min_pct:g} to {m.max_pct:g} %, within {m.spread_pct:g} in a panel; unread: {m.unread.value}",
        ),
        (
            "costs",
            f"handling {c.handling}, recovery {c.recovery}, match {c.match} a dE00,"
            f" ring break {c.ring_break}",
        ),
        ("rings", job.rings.value),
    )
    for name, text in lines:
        say(f"  {name:<10}{text}")
    for face, rules in (("show face", job.rules.show), ("back", job.rules.back)):
        told = [f"{kind.value.replace('_', ' ')}: {rule.do.value}" for kind, rule in rules.items()]
        say(f"  {face:<10}{', '.join(told) or 'every defect avoided'}")
