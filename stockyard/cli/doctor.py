"""doctor: whether everything that Stockyard needs is there, and what to do where it is not."""

import typer

from stockyard.cli.app import app
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table


@app.command(
    short_help="Look over the installation and the yard.",
    epilog="Example: stockyard doctor --db yard.db",
)
def doctor(context: typer.Context) -> None:
    """Look over versions, database, pictures, fonts, disk, clock and errands; ends with 3 unless all is fine.

    Nothing is changed.
    """
    from stockyard.settings import look_over

    session = session_of(context)
    found = look_over(session.db)
    wrong = [each for each in found if not each.fine]
    if session.as_json:
        say_json({"fine": not wrong, "findings": found})
    else:
        table(
            ("part", "", "how it is, and what to do"),
            ((each.what, "fine" if each.fine else "TO DO", each.told) for each in found),
        )
        say("All is fine." if not wrong else f"To do: {', '.join(each.what for each in wrong)}.")
    if wrong:
        raise typer.Exit(3)
