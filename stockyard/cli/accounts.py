"""finish, books cost, books value, job cost, job time: what work adds, and what a job came to."""

from typing import Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.books import books
from stockyard.cli.jobs import jobs
from stockyard.cli.read import amount_of, because_option, day_of, number_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

JobArgument = Annotated[str, typer.Argument(metavar="JOB", help="The job's id.")]


@app.command(short_help="Book a plan's panels as glued up.", epilog="Example: stockyard finish 1 --panel top")
def finish(
    context: typer.Context,
    plan: Annotated[int, typer.Argument(metavar="PLAN", help="The plan's number; it must be cut.")],
    panel: Annotated[
        list[str] | None, typer.Option(help="Only this panel; may be repeated. All that are left if none.")
    ] = None,
    date: Annotated[str | None, typer.Option(help="When; today if not said.")] = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Although a treatment of a stave is open.")
    ] = False,
) -> None:
    """Book panels as glued up: their staves leave the stock, and the job bears what they stood for."""
    from stockyard.services.finish_plan import finish_plan

    session = session_of(context)
    done = finish_plan(
        session.open_work(),
        plan,
        panels=panel or (),
        force_open_steps=anyway,
        effective=day_of(date, "--date"),
    )
    if session.as_json:
        say_json(done)
        return
    say(f"Made: {', '.join(done.panels)} of {done.job}, from {len(done.staves)} staves.")
    say(f"{done.value:,} {done.currency} is a cost of the job now (movement {done.movement}).")


@books.command(
    "cost", epilog='Example: stockyard books cost 420 --for "kiln drying" --docket 20418 --date 2026-06-30'
)
def cost(
    context: typer.Context,
    amount: Annotated[str, typer.Argument(metavar="AMOUNT", help="Without tax you get back.")],
    what: Annotated[str, typer.Option("--for", help="What it was for, such as kiln drying.")],
    board: Annotated[list[str] | None, typer.Option(help="A board it was for; may be repeated.")] = None,
    docket: Annotated[str | None, typer.Option(help="All that is on hand of this docket.")] = None,
    place: Annotated[str | None, typer.Option(help="All that stands there.")] = None,
    by: Annotated[str, typer.Option(help="Shared by volume, value or each.")] = "volume",
    date: Annotated[str | None, typer.Option(help="When; today if not said.")] = None,
) -> None:
    """Add the cost of milling or drying to boards, shared out to the cent."""
    from stockyard.services.add_cost import add_cost

    session = session_of(context)
    added = add_cost(
        session.open_work(),
        amount_of(amount, "amount"),
        what=what,
        numbers=[number.upper() for number in board or ()],
        docket=docket,
        place=place,
        by=by,
        effective=day_of(date, "--date"),
    )
    if session.as_json:
        say_json(added)
        return
    shares = sorted(share for _, share in added.shares)
    say(
        f"{added.amount:,} {added.currency} for {what} is part of what {len(added.shares)} pieces cost,"
        f" {shares[0]:,} to {shares[-1]:,} each (movement {added.movement})."
    )


@books.command(
    "value",
    epilog='Example: stockyard books value 2500 --species "spotted gum" --because "June price list" --check',
)
def value(
    context: typer.Context,
    per_m3: Annotated[
        str, typer.Argument(metavar="PER_M3", help="What a cubic metre would sell for, less selling it.")
    ],
    species: Annotated[str | None, typer.Option(help="Only this species.")] = None,
    thickness: Annotated[str | None, typer.Option(metavar="MM", help="Only this thickness.")] = None,
    docket: Annotated[str | None, typer.Option(help="Only what came on this docket.")] = None,
    kind: Annotated[str | None, typer.Option(help="Only boards, or only offcuts: board or offcut.")] = None,
    check: Annotated[bool, typer.Option("--check", help="Say what would change, and book nothing.")] = False,
    because: because_option = "",
) -> None:
    """Hold each board to the lower of its cost and what it would sell for; never above its cost."""
    from stockyard.services.value_at_realisable import value_stock

    session = session_of(context)
    told = value_stock(
        session.open_work(),
        amount_of(per_m3, "price"),
        reason=because,
        species=species,
        thickness_mm=None if thickness is None else number_of(thickness, "--thickness"),
        docket=docket,
        kind=kind,
        only_look=check,
    )
    if session.as_json:
        say_json(told)
        return
    if told.changed:
        table(
            ("board", "species", ">cost", ">would sell for", ">stood for", ">stands for"),
            (
                (each.number, each.species, each.cost, each.realisable, each.stood, each.stands)
                for each in told.changed
            ),
        )
    say(
        f"{told.looked_at} pieces looked at, {len(told.changed)} change: {told.written_down:,} written down,"
        f" {told.written_up:,} taken back, in {told.currency}."
    )
    if not told.booked:
        say("Only looked at; nothing was written.")


@jobs.command("time", epilog='Example: stockyard job time hall-bench 90 --note "glue-up"')
def time(
    context: typer.Context,
    job: JobArgument,
    minutes: Annotated[
        str, typer.Argument(metavar="MINUTES", help="Whole minutes; with --take-back they are taken off.")
    ],
    take_back: Annotated[bool, typer.Option("--take-back", help="They were noted by mistake.")] = False,
    date: Annotated[str | None, typer.Option(help="When; today if not said.")] = None,
    note: Annotated[str, typer.Option(help="What was done.")] = "",
) -> None:
    """Note time spent on a job."""
    from stockyard.services.job_cost import add_time

    session = session_of(context)
    spent = round(number_of(minutes, "minutes"))
    entries = add_time(
        session.open_work(), job, -spent if take_back else spent, on=day_of(date, "--date"), note=note
    )
    if session.as_json:
        say_json(entries)
    else:
        say(f"{job}: {sum(each.minutes for each in entries)} minutes noted in all.")


@jobs.command("cost", epilog="Example: stockyard job cost hall-bench")
def job_cost_(context: typer.Context, job: JobArgument) -> None:
    """Show what a job has come to so far, against the quote that was kept."""
    from stockyard.services.job_cost import job_cost

    session = session_of(context)
    told = job_cost(session.open_work(), job)
    if session.as_json:
        say_json(
            {
                **{
                    name: getattr(told, name)
                    for name in (
                        "job",
                        "currency",
                        "quoted",
                        "actual",
                        "price",
                        "profit",
                        "ledger",
                        "minutes",
                    )
                },
                "lines": [
                    {"what": each.what, "quoted": each.quoted, "actual": each.actual, "over": each.over}
                    for each in told.lines
                ],
                "notes": list(told.notes),
            }
        )
        return
    table(
        ("line", ">quoted", ">actual", ">over", "how"),
        ((each.what, each.quoted, each.actual, each.over, each.how) for each in told.lines),
        title=f"{told.job}, in {told.currency}, before profit and tax",
    )
    against = "" if told.quoted is None else f", quoted {told.quoted:,}"
    say(f"Came to {told.actual:,} so far{against}.")
    if told.price is not None and told.profit is not None:
        say(f"Asked without tax: {told.price:,}; left of it: {told.profit:,}.")
    for note in told.notes:
        say(note)
