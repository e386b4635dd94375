"""stocktake start, add, show, book, drop, list: count what stands in a place, and book what came of it."""

import re
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import because_option, number_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.cli.session import Session
    from stockyard.services.count_stock import CountSheet

stocktake = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Count what stands in a place and book what came of it.",
    epilog='Example: stockyard stocktake start "rack A"',
)
app.add_typer(stocktake, name="stocktake")

CountArgument = Annotated[
    int | None, typer.Argument(metavar="[COUNT]", help="The count's number; the only open one if not said.")
]


@stocktake.command("start", epilog='Example: stockyard stocktake start "rack A"')
def start(
    context: typer.Context,
    place: Annotated[
        str, typer.Argument(metavar="PLACE", help="Where to count, as the boards' place reads.")
    ],
) -> None:
    """Begin a count of a place. Work may go on meanwhile: what moves or is cut is not called missing."""
    from stockyard.services.count_stock import start_stocktake

    session = session_of(context)
    sheet = start_stocktake(session.open_work(), place)
    if session.as_json:
        say_json(_json(sheet))
    else:
        say(f"Stocktake {sheet.number} of {sheet.place} is open; the books expect {sheet.expected} there.")


@stocktake.command("add", epilog="Example: stockyard stocktake add SG-0003 SG-0011 --count 1")
def add(
    context: typer.Context,
    numbers: Annotated[
        list[str] | None,
        typer.Argument(metavar="[ID]...", help="Numbers read; without any they are read from the input."),
    ] = None,
    count: Annotated[int | None, typer.Option(help="Which count; the only open one if not said.")] = None,
    size: Annotated[
        str | None,
        typer.Option(metavar="LxWxT", help="What one board measures now, such as 2380x178x32, in mm."),
    ] = None,
    take_back: Annotated[bool, typer.Option("--take-back", help="They were read by mistake.")] = False,
) -> None:
    """Write down numbers read off the rack, typed or scanned."""
    from stockyard.services.count_stock import note_numbers, show_stocktake

    session = session_of(context)
    open_work = session.open_work()
    measured, read = None if size is None else _size_of(size), False
    lines = (re.split(r"[\s,;]+", line.strip()) for line in sys.stdin) if not numbers else iter([numbers])
    for words in lines:
        # Each line is kept as it comes: a scanner's battery may go before the rack is done.
        if words != [""]:
            count = note_numbers(open_work, words, stocktake=count, size_mm=measured, take_back=take_back)
            read = True
    if not read:
        raise BadInput("Nothing was read; name the boards, or scan them and end with Ctrl-D.")
    _tell(session, show_stocktake(open_work, count), briefly=True)


@stocktake.command("show", epilog="Example: stockyard stocktake show 1")
def show(
    context: typer.Context,
    count: CountArgument = None,
) -> None:
    """Show what a count comes to so far, or what was booked of it. Books nothing."""
    from stockyard.services.count_stock import show_stocktake

    session = session_of(context)
    _tell(session, show_stocktake(session.open_work(), count))


@stocktake.command("book", epilog='Example: stockyard stocktake book 1 --because "not found by two people"')
def book(
    context: typer.Context,
    count: CountArgument = None,
    because: because_option = "",
) -> None:
    """Book a count: misplaced boards moved, sizes corrected, missing boards written off with a reason."""
    from stockyard.services.count_stock import book_stocktake

    session = session_of(context)
    sheet = book_stocktake(session.open_work(), count, reason=because)
    _tell(session, sheet)
    if sheet.movements and not session.as_json:
        told = ", ".join(str(each) for each in sheet.movements)
        say(f"Losses: movement {told}. If a board turns up, `stockyard reverse` brings it back.")


@stocktake.command("drop", epilog="Example: stockyard stocktake drop 1")
def drop(context: typer.Context, count: CountArgument = None) -> None:
    """Give a count up; nothing of it is booked."""
    from stockyard.services.count_stock import drop_stocktake

    session = session_of(context)
    sheet = drop_stocktake(session.open_work(), count)
    if session.as_json:
        say_json(_json(sheet))
    else:
        say(f"Stocktake {sheet.number} of {sheet.place} is dropped; nothing was booked.")


@stocktake.command("list", epilog="Example: stockyard stocktake list")
def list_(context: typer.Context) -> None:
    """List the counts there were, and those that are open."""
    from stockyard.services.count_stock import list_stocktakes

    session = session_of(context)
    found = list_stocktakes(session.open_work())
    rows = [
        (
            count.number,
            count.place,
            "open" if count.outcome is None else count.outcome["state"],
            count.at,
            count.who,
        )
        for count in found
    ]
    if session.as_json:
        names = ("count", "place", "state", "started", "by")
        say_json([dict(zip(names, row, strict=True)) for row in rows])
        return
    table(
        (">count", "place", "state", "started", "by"),
        ((*row[:3], f"{row[3].astimezone():%Y-%m-%d %H:%M}", row[4]) for row in rows),
    )


def _tell(session: "Session", sheet: "CountSheet", briefly: bool = False) -> None:
    if session.as_json:
        say_json(_json(sheet))
        return
    say(f"Stocktake {sheet.number} of {sheet.place}, {sheet.state}; expected {sheet.expected}.")
    say(", ".join(f"{number} {finding}" for finding, number in sheet.counts.items()) + ".")
    lines = [line for line in sheet.lines if line.finding != "found"]
    if lines and not briefly:
        table(
            ("board", "is", "what was found", f">worth, {sheet.currency}"),
            ((line.number, line.finding, line.told, line.worth) for line in lines),
        )


def _json(sheet: "CountSheet") -> dict[str, object]:
    return {
        "count": sheet.number,
        "place": sheet.place,
        "state": sheet.state,
        "started": sheet.started,
        "by": sheet.started_by,
        "expected": sheet.expected,
        "counts": sheet.counts,
        "lines": sheet.lines,
        "movements": sheet.movements,
    }


def _size_of(text: str) -> tuple[float, float, float]:
    parts = [number_of(part, "--size") for part in re.split(r"\s*[x×*]\s*", text.strip())]
    if len(parts) != 3:
        raise BadInput(f"--size: expected length, width and thickness such as 2380x178x32, found {text!r}.")
    return (parts[0], parts[1], parts[2])
