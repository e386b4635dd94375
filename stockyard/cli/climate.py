"""climate add, import, show, take-back: the air of the shop, and of the rooms that pieces go to."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import because_option
from stockyard.cli.session import bytes_of, session_of
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.services.climate_log import ClimateSheet, LoggedAir

climate = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Log the air of the shop and of clients' rooms.",
    epilog="Example: stockyard climate show",
)
app.add_typer(climate, name="climate")

PlaceArgument = Annotated[str, typer.Argument(help='"shop" for your own, or a name for a client\'s room.')]
ZoneOption = Annotated[
    str | None,
    typer.Option(help="Time zone, such as Australia/Melbourne; kept from a place's first log on."),
]


@climate.command(
    "add",
    # A temperature below zero is no option.
    context_settings={"ignore_unknown_options": True},
    epilog="Example: stockyard climate add shop 21 55 --zone Australia/Melbourne",
)
def add(
    context: typer.Context,
    place: PlaceArgument,
    temperature: Annotated[float, typer.Argument(help="In degrees C.")],
    humidity: Annotated[float, typer.Argument(help="Relative humidity in percent: 55, not 0.55.")],
    at: Annotated[
        str | None, typer.Option(metavar="TIME", help='When, as "2026-11-24 08:00"; now if not said.')
    ] = None,
    zone: ZoneOption = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
) -> None:
    """Write down a place's air, read off an instrument."""
    from stockyard.services.climate_log import add_air

    session = session_of(context)
    logged = add_air(session.open_work(), place, temperature, humidity, at=_moment(at), zone=zone, note=note)
    if session.as_json:
        say_json(plain(logged))
    else:
        _print_logged(logged)


@climate.command(
    "import",
    short_help="Take in a climate logger's CSV.",
    epilog="Example: stockyard climate import shop logger.csv --zone Australia/Melbourne",
)
def import_(
    context: typer.Context,
    place: PlaceArgument,
    file: Annotated[Path, typer.Argument(help="The logger's CSV: time, temperature, humidity.")],
    zone: ZoneOption = None,
    month_first: Annotated[
        bool, typer.Option("--month-first", help="Its dates are written month first.")
    ] = False,
) -> None:
    """Take in a logger's file; readings known already are passed over, so it may be handed in again.

    A file with a fault is refused whole, each fault with its row; gaps, repeated rows and turned clocks are
    told. --zone says in which zone its bare times are told where that is not the place's own.
    """
    from stockyard.services.climate_log import import_climate

    session = session_of(context)
    logged = import_climate(
        session.open_work(), place, bytes_of(file), file.name, zone=zone, month_first=month_first
    )
    if session.as_json:
        say_json(plain(logged))
    else:
        _print_logged(logged)


@climate.command("show", epilog='Example: stockyard climate show "hall at Quandong Siding"')
def show(
    context: typer.Context,
    place: Annotated[str, typer.Argument(help='A logged place; "shop" if not said.')] = "shop",
) -> None:
    """Show a place's air month by month, and where it takes wood."""
    from stockyard.services.climate_log import list_places, show_climate

    session = session_of(context)
    open_work = session.open_work()
    sheet = show_climate(open_work, place)
    if session.as_json:
        say_json(plain(sheet))
        return
    _print_sheet(sheet)
    others = [each.name for each in list_places(open_work) if each.name != sheet.place.name]
    if others:
        say(f"Logged too: {', '.join(others)}")


@climate.command(
    "take-back", epilog='Example: stockyard climate take-back 3 --because "it hung over the heater"'
)
def take_back(
    context: typer.Context,
    log: Annotated[int, typer.Argument(help="The log's number, as `climate show` lists it.")],
    because: because_option = "",
) -> None:
    """Take back a log that was wrong; it stays on record and counts no more."""
    from stockyard.services.climate_log import take_back_log

    session = session_of(context)
    place = take_back_log(session.open_work(), log, because)
    if session.as_json:
        say_json({"log": log, "place": place})
    else:
        say(f"Log {log} of {place} is taken back.")


def _moment(text: str | None) -> datetime | None:
    if text is None:
        return None
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError:
        raise BadInput(f'--at: expected a time such as "2026-11-24 08:00", found {text!r}.') from None


def _print_logged(logged: "LoggedAir") -> None:
    log = logged.log
    said = f"Log {log.id} of {log.place}: {logged.new} reading{'' if logged.new == 1 else 's'} added"
    if log.first is not None and log.last is not None:
        first, last = _told(log.first, log.zone), _told(log.last, log.zone)
        said += f", {first}" + (f" to {last}" if last != first else "")
    say(f"{said}.")
    if logged.columns:
        say("  taken from " + ", ".join(f"{what}: {name}" for what, name in logged.columns.items()))
    for note in logged.notes:
        say(f"  {note}")


def _told(moment: datetime, zone: str) -> str:
    """A moment as the place's own clock shows it."""
    from zoneinfo import ZoneInfo

    return f"{moment.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M}"


def _print_sheet(sheet: "ClimateSheet") -> None:
    say(f"{sheet.place.name}: {sheet.readings} readings, in the zone {sheet.place.zone}")
    table(
        ("month", ">mean, C", ">humidity, %", ">holds wood at, %", ">covered"),
        (
            (
                f"{month.first_day:%Y-%m}",
                f"{month.temperature_c:.1f}",
                f"{100 * month.humidity:.0f}",
                f"{month.emc_pct:.1f}",
                f"{month.covered:.0%}",
            )
            for month in sheet.months
        ),
    )
    if sheet.span is not None:
        low, high = sheet.span.low_pct, sheet.span.high_pct
        say(
            f"Driest {sheet.span.low_month:%Y-%m} at {low:.1f} %, dampest {sheet.span.high_month:%Y-%m} at"
            f" {high:.1f} %. {sheet.span.note}".rstrip()
        )
    else:
        say(sheet.no_span)
    if sheet.gaps:
        longest = max(sheet.gaps, key=lambda gap: gap.length)
        say(
            f"{len(sheet.gaps)} gap{'' if len(sheet.gaps) == 1 else 's'}, the longest from"
            f" {_told(longest.since, sheet.place.zone)} to {_told(longest.until, sheet.place.zone)}"
        )
    table(
        (">log", "from", ">readings", "first", "last", "written", "by"),
        (
            (
                log.id,
                log.source,
                log.readings,
                _told(log.first, sheet.place.zone)[:10] if log.first else None,
                _told(log.last, sheet.place.zone)[:10] if log.last else None,
                f"{log.at.astimezone():%Y-%m-%d}",
                log.who,
            )
            for log in sheet.logs
        ),
    )
    for log in sheet.logs:
        if log.note:
            say(f"log {log.id}: {log.note}")
        if log.void is not None:
            say(f"log {log.id} is taken back: {log.void}")
