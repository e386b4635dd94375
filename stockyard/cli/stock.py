"""volume, worth: how much timber there is and what it stands in the books for, on any date."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import because_option, day_of
from stockyard.cli.session import session_of
from stockyard.cli.show import millimetres, say, say_json, table
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from datetime import date

    from stockyard.services.report_holdings import HoldingsReport

ByOption = Annotated[
    list[str] | None,
    typer.Option(
        help="Group by species, thickness, section, place, status, kind, supplier, docket, age or moisture;"
        " may be repeated."
    ),
]
AsOfOption = Annotated[str | None, typer.Option(help="On the evening of that day; today if not said.")]

_FIGURES = {
    "volume": (("pieces", "pieces"), ("gross_m3", "gross m3"), ("clear_m3", "clear m3"),
               ("lineal_m", "lineal m"), ("board_feet", "board feet")),
    "worth": (("pieces", "pieces"), ("gross_m3", "gross m3"), ("worth", "worth")),
}  # fmt: skip


@app.command(
    short_help="How much timber is on hand, gross and clear.",
    epilog="Example: stockyard volume --by species --by thickness",
)
def volume(context: typer.Context, by: ByOption = None, as_of: AsOfOption = None) -> None:
    """How much timber is on hand: gross, and clear of what its mapped weakening defects spoil."""
    _report(context, "volume", by, day_of(as_of, "--as-of"))


@app.command(epilog="Example: stockyard worth --by status --as-of 2026-06-30")
def worth(context: typer.Context, by: ByOption = None, as_of: AsOfOption = None) -> None:
    """What the timber on hand stands in the books for."""
    from stockyard.services.stock_worth import GROUPS, stock_worth, worth_lines

    day, groups = day_of(as_of, "--as-of"), tuple(dict.fromkeys(by or ("species",)))
    if not set(groups) <= set(GROUPS):
        # What is known of single pieces only, such as their age.
        _report(context, "worth", by, day)
        return
    session = session_of(context)
    open_work = session.open_work()
    whole, lines = stock_worth(open_work, day), worth_lines(open_work, groups, day)
    (total,) = worth_lines(open_work, (), day) or (None,)
    named = ["total", *("" for _ in groups[1:])]
    rows: list[tuple[object, ...]] = [(*each.key, each.pieces, each.gross_m3, each.worth) for each in lines]
    rows.append((*named, *((total.pieces, total.gross_m3, total.worth) if total else (0, 0, 0))))
    columns = (*groups, *(name for name, _ in _FIGURES["worth"]))
    if session.as_json:
        say_json(
            {
                "as_of": whole.as_of,
                "currency": whole.currency,
                "rows": [dict(zip(columns, row, strict=True)) for row in rows],
                "supplies": whole.supplies,
            }
        )
        return
    table(
        (*groups, *(f">{title}" for _, title in _FIGURES["worth"])),
        ((*map(_named, row[: len(groups)]), *row[len(groups) :]) for row in rows),
        title=f"On hand on the evening of {whole.as_of}, in {whole.currency}",
    )
    if whole.supplies:
        say(f"And consumables for {whole.supplies:,}.")


def _report(context: typer.Context, what: str, by: list[str] | None, as_of: "date | None") -> None:
    from stockyard.services.report_holdings import report_holdings

    session = session_of(context)
    groups = tuple(dict.fromkeys(by or ("species",)))
    report = report_holdings(session.open_work(), groups, as_of)
    names = [name for name, _ in _FIGURES[what]]
    if session.as_json:
        say_json(
            {
                "as_of": report.as_of,
                "currency": report.currency,
                "rows": [{name: plain(row[name]) for name in (*groups, *names)} for row in report.rows],
            }
        )
        return
    _print(report, groups, what)


def _print(report: "HoldingsReport", groups: tuple[str, ...], what: str) -> None:
    figures = _FIGURES[what]
    table(
        (*groups, *(f">{title}" for _, title in figures)),
        (
            (*(_named(row[group]) for group in groups), *(row[name] for name, _ in figures))
            for row in report.rows
        ),
        title=f"On hand on the evening of {report.as_of}"
        + (f", in {report.currency}" if what == "worth" else ""),
    )
    if what == "volume":
        say("Clear: less the boxes around every mapped weakening defect that is still open, full thickness.")


def _named(group: object) -> object:
    return f"{millimetres(group)} mm" if isinstance(group, float) else group


@app.command(epilog='Example: stockyard reverse 12 --because "booked on the wrong docket"')
def reverse(
    context: typer.Context,
    movement: Annotated[int, typer.Argument(help="The movement's number, as `board ID --history` shows it.")],
    because: because_option = "",
) -> None:
    """Take a movement back by booking its opposite; both stay on record."""
    from stockyard.services.reverse_movement import reverse_movement

    session = session_of(context)
    booked = reverse_movement(session.open_work(), movement, reason=because)
    if session.as_json:
        say_json(booked)
    else:
        say(f"Movement {movement} is taken back by movement {booked.id}.")
