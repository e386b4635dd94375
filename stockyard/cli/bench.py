"""step list, done; cut: from a promised board to staves and offcuts."""

from decimal import Decimal
from typing import Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.boards import piece_json
from stockyard.cli.plans import PlanArgument
from stockyard.cli.read import day_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, size, table
from stockyard.measures.plain import plain

steps = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Stabilise cracks and fill voids, and say so.",
    epilog="Example: stockyard step list",
)
app.add_typer(steps, name="step")


@steps.command("list", epilog="Example: stockyard step list --plan 1")
def list_(
    context: typer.Context,
    plan: Annotated[int | None, typer.Option(help="Only this plan's steps.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Those done and dropped too.")] = False,
) -> None:
    """List what has to be stabilised or filled."""
    from stockyard.services.steps import list_steps

    session = session_of(context)
    found = list_steps(session.open_work(), plan=plan, only_open=not everything)
    if session.as_json:
        say_json([plain(step) for step in found])
        return
    table(
        (">step", ">plan", "defect", "do", "with", "how much", "before", "state"),
        (
            (
                step.id,
                step.plan,
                step.defect,
                step.kind.value,
                step.product or step.method,
                step.quantity,
                step.before.value,
                step.state.value + (f" {step.done_on}" if step.done_on else ""),
            )
            for step in found
        ),
    )


@steps.command("done", epilog='Example: stockyard step done 1 --product "thin CA" --batch 2291')
def done(
    context: typer.Context,
    number: Annotated[int, typer.Argument(metavar="STEP", help="The step's number.")],
    product: Annotated[str, typer.Option(help="What was used.")],
    batch: Annotated[str, typer.Option(help="Its batch, from the label.")] = "",
    date: Annotated[str | None, typer.Option(help="When; today if not said.")] = None,
    by: Annotated[str | None, typer.Option(help="By whom; you if not said.")] = None,
) -> None:
    """Say that a step is done: with what, when and by whom."""
    from stockyard.services.steps import complete_step

    session = session_of(context)
    step = complete_step(
        session.open_work(),
        number,
        product=product,
        batch=batch,
        done_on=day_of(date, "--date"),
        done_by=by,
    )
    if session.as_json:
        say_json(plain(step))
    else:
        say(f"Step {number}: {step.defect} is {step.kind.leaves.value}.")


@app.command(
    short_help="Book what a plan's boards were cut into.",
    epilog="Example: stockyard cut 1 --spoiled top/2 --not-kept SG-0003/1",
)
def cut(
    context: typer.Context,
    number: PlanArgument,
    spoiled: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PANEL/STAVE", help="A stave that came to grief, counted from 1; may be repeated."
        ),
    ] = None,
    not_kept: Annotated[
        list[str] | None,
        typer.Option(metavar="BOARD/OFFCUT", help="An offcut not racked, counted from 1; may be repeated."),
    ] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Cut although a step that should come first is open.")
    ] = False,
) -> None:
    """Book a plan's cuts: boards end, staves and offcuts begin, and value in is value out to the cent.

    Blades cut more than timber: guards on, long stock supported. Fine dust harms lungs: extraction, mask.
    """
    from stockyard.services.cut_plan import cut_plan

    session = session_of(context)
    record = cut_plan(
        session.open_work(),
        number,
        spoiled=[_place(text, "--spoiled") for text in spoiled or ()],
        not_kept=[_place(text, "--not-kept") for text in not_kept or ()],
        force_open_steps=anyway,
    )
    if session.as_json:
        say_json(
            {
                "plan": number,
                "boards": list(record.boards),
                "pieces": [piece_json(piece) for piece in record.pieces],
                "spoiled": plain(record.spoiled),
                "value_in": plain(record.value_in),
                "open_steps": plain(record.open_steps),
            }
        )
        return
    table(
        ("piece", "from", ">size, mm", "for", ">worth"),
        (
            (
                piece.number,
                piece.parent,
                size(piece.length_mm, piece.width_mm, piece.thickness_mm),
                f"{piece.panel} {(piece.stave or 0) + 1}" if piece.panel else "rack",
                piece.value,
            )
            for piece in record.pieces
        ),
    )
    lost = sum((each.value for each in record.spoiled), Decimal(0))
    out = sum((piece.value for piece in record.pieces), Decimal(0))
    say(
        f"{record.value_in:,} in: {out:,} in staves and offcuts"
        + (f", {lost:,} spoiled and borne by the job" if record.spoiled else "")
    )
    for step in record.open_steps:
        say(f"Still open before {step.before.value}: step {step.id}, {step.kind.value} {step.defect}.")


def _place(text: str, option: str) -> tuple[str, int]:
    name, slash, number = text.rpartition("/")
    if not slash or not name or not number.isdigit() or int(number) < 1:
        raise typer.BadParameter(f"{text!r} is not NAME/NUMBER, counted from 1", param_hint=option)
    return name, int(number) - 1
