"""demo, upgrade: a yard to look at, and a yard brought up to date."""

from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json


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
