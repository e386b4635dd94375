"""demo, upgrade, move-to: a yard to look at, one brought up to date, and one carried elsewhere."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal


@app.command(
    short_help="Build an invented yard and carry two jobs through it.",
    epilog="Example: stockyard demo --folder demo",
)
def demo(
    context: typer.Context,
    folder: Annotated[Path, typer.Option(help="Where the demo yard goes; a new or empty folder.")] = Path(
        "demo"
    ),
    seconds: Annotated[float, typer.Option(min=1, help="Search for each plan at most so long.")] = 8.0,
) -> None:
    """Build an invented workshop's yard and carry two jobs through it, from delivery to cut boards."""
    from stockyard.cli.demo import run_demo

    session = session_of(context)
    told = run_demo(folder, seconds, quiet=session.as_json)
    if session.as_json:
        say_json(told)


@app.command(
    short_help="Bring the database up to date with this version.",
    epilog="Example: stockyard upgrade --db yard.db",
)
def upgrade(context: typer.Context) -> None:
    """Bring the yard's database up to date with this version; an older SQLite file is copied aside first."""
    from stockyard.settings import upgrade as bring_up_to_date

    session = session_of(context)
    aside = bring_up_to_date(session.db)
    if session.as_json:
        say_json({"copied_aside": None if aside is None else str(aside)})
    else:
        say("The yard is up to date." + ("" if aside is None else f" The older one is kept as {aside}."))


@app.command(
    "move-to",
    short_help="Carry the yard into another, empty database.",
    epilog="Example: stockyard move-to postgresql://yard@server/yard --db yard.db",
)
def move_to(
    context: typer.Context,
    target: Annotated[
        str, typer.Argument(metavar="FILE_OR_URL", help="A database with nothing in it, or a new file.")
    ],
) -> None:
    """Carry the whole yard, pictures and all, into another database, and prove that both hold the same."""
    from stockyard.settings import move_yard

    session = session_of(context)
    moved = move_yard(session.db, target)
    if session.as_json:
        say_json(moved)
        return
    table(
        ("table", ">rows", "sums that both give", "text, SHA-256"),
        (
            (each.name, f"{each.rows:,}", _sums(each.sums), each.sha256[:12])
            for each in moved.tables
            if each.rows
        ),
    )
    rows = sum(each.rows for each in moved.tables)
    say(
        f"{rows:,} rows of {len(moved.tables)} tables and {moved.pictures:,} picture files are in"
        f" {moved.target} as they are in {moved.source}: each count, each sum and the digest of each"
        " table's text were found again."
    )
    say("Name it with --db or STOCKYARD_DB from now on; the old one is untouched, and best put away.")


def _sums(sums: "Mapping[str, Decimal]") -> str:
    return "\n".join(f"{name} {amount:,}" for name, amount in sums.items())
