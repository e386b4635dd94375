"""The root command and everything below it."""

from typing import Annotated

import typer

from stockyard.cli.session import Session

app = typer.Typer(
    name="stockyard",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Timber stock inventory and defect-aware board selection for a furniture workshop.",
    epilog="Example: stockyard demo",
)


def _version(wanted: bool) -> None:
    if wanted:
        from stockyard import __version__

        typer.echo(f"stockyard {__version__}")
        raise typer.Exit


@app.callback()
def root(
    context: typer.Context,
    db: Annotated[
        str | None,
        typer.Option(
            envvar="STOCKYARD_DB",
            metavar="FILE_OR_URL",
            help="The yard's database: a SQLite file or a PostgreSQL URL; by default in your data folder.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Answer in JSON, for scripts.")] = False,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which version this is.")
    ] = False,
) -> None:
    """Open the yard that --db names."""
    context.obj = Session(db=db, as_json=as_json)
