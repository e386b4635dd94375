"""report: the yard in tables, on the screen or as files."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import day_of
from stockyard.cli.session import session_of, write_file
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.reports.report import Column, Report

_MOST_ROWS = 60


@app.command(
    short_help="Stock, worth over time, recovery, journal and others as tables or files.",
    epilog="Example: stockyard report worth --from 2026-01-01 --xlsx worth.xlsx",
)
def report(
    context: typer.Context,
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="stock, age or moisture (of a day); worth, recovery, offcuts, defects or journal (of days).",
        ),
    ],
    as_of: Annotated[str | None, typer.Option(help="On the evening of that day; today if not said.")] = None,
    since: Annotated[
        str | None, typer.Option("--from", help="From that day on; from the first one if not said.")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", help="Up to that day; today if not said.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Write it to this CSV file.")] = None,
    xlsx: Annotated[Path | None, typer.Option(help="Write it to this workbook, totals as formulas.")] = None,
    parquet: Annotated[Path | None, typer.Option(help="Write it to this Parquet file.")] = None,
    chart: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw its chart to this .svg or .png.")
    ] = None,
) -> None:
    """Tell the yard in a table, on the screen or as a file; files hold every column, the screen what fits."""
    from stockyard.services.make_report import make_report

    session = session_of(context)
    made = make_report(
        session.open_work(),
        name,
        as_of=day_of(as_of, "--as-of"),
        since=day_of(since, "--from"),
        until=day_of(until, "--to"),
    )
    asked = {"csv": csv, "xlsx": xlsx, "parquet": parquet}
    files = {form: path for form, path in asked.items() if path is not None}
    if files:
        from stockyard.reports.files import FORMATS

        for form, path in files.items():
            write_file(path, FORMATS[form](made))
    if chart is not None:
        from stockyard.reports.charts import chart_of

        write_file(chart, chart_of(made, _chart_form(chart)))
        files["chart"] = chart
    if session.as_json:
        say_json(
            {
                "report": made.name,
                "span": made.span,
                "currency": made.currency,
                "rows": [
                    dict(zip((column.name for column in made.columns), row, strict=True)) for row in made.rows
                ],
                "total": made.foot,
                "files": [str(path) for path in files.values()],
            }
        )
        return
    for form, path in files.items():
        what = "its chart" if form == "chart" else f"{len(made.rows)} rows"
        say(f"{made.title}, {made.span}: {what} in {path}.")
    if not files:
        _print(made)


def _chart_form(path: Path) -> str:
    ending = path.suffix.casefold().removeprefix(".")
    if ending not in ("svg", "png"):
        raise BadInput(f"--chart: expected a file that ends in .svg or .png, found {str(path)!r}.")
    return ending


def _print(made: "Report") -> None:
    shown = [place for place, column in enumerate(made.columns) if column.brief]
    columns = [made.columns[place] for place in shown]
    rows = made.rows
    foot = made.foot
    body = [
        tuple(_cell(column, row[place]) for place, column in zip(shown, columns, strict=True))
        for row in rows[:_MOST_ROWS]
    ]
    if rows and foot:
        last = [_cell(column, foot.get(column.name)) for column in columns]
        body.append(("total" if last[0] is None else last[0], *last[1:]))
    table(
        [column.title if column.unit == "text" else f">{column.title}" for column in columns],
        body,
        title=f"{made.title}, {made.span}, in {made.currency}",
    )
    if len(rows) > _MOST_ROWS:
        say(f"The first {_MOST_ROWS} of {len(rows)} rows; --csv, --xlsx or --json give all.")
    for note in made.notes:
        say(note)


def _cell(column: "Column", value: object) -> object:
    if value is None:
        return None
    if column.unit == "m3":
        return f"{value:.4f}"
    if column.unit == "percent":
        return f"{value:.1f}"
    return value
