"""moisture add, weigh, list: what the meter showed, and what the scales say."""

from typing import Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import day_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table
from stockyard.measures.plain import plain

moisture = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Write down moisture readings.",
    epilog="Example: stockyard moisture list SG-0003",
)
app.add_typer(moisture, name="moisture")


@moisture.command("add", epilog="Example: stockyard moisture add SG-0003 11.5 --wood-temp 18 --meter pins")
def add(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
    reading: Annotated[float, typer.Argument(help="What the meter showed, in percent.")],
    meter: Annotated[
        str, typer.Option(help='Which meter; "ovendry" for a weighed sample, which is not corrected.')
    ] = "",
    wood_temp: Annotated[float | None, typer.Option(help="Temperature of the wood, in degrees C.")] = None,
    date: Annotated[str | None, typer.Option(help="When it was read; today if not said.")] = None,
    origin: Annotated[
        str | None,
        typer.Option(help="Where the tree grew (Qld, NSW ...), where the correction depends on it."),
    ] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
) -> None:
    """Keep a reading of a board, raw and corrected for wood temperature and species."""
    from stockyard.services.read_moisture import add_reading

    session = session_of(context)
    kept = add_reading(
        session.open_work(),
        board,
        reading,
        meter=meter,
        wood_c=wood_temp,
        taken_on=day_of(date, "--date"),
        origin=origin,
        note=note,
    )
    if session.as_json:
        say_json(kept)
        return
    right = "no corrected figure" if kept.corrected_pct is None else f"{kept.corrected_pct:g} %"
    say(f"{board}: the meter showed {kept.raw_pct:g} %, which means {right} ({kept.rule}).")
    if kept.note:
        say(kept.note)


@moisture.command("weigh", epilog="Example: stockyard moisture weigh SG-0003 152.4 135.8")
def weigh(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
    wet: Annotated[float, typer.Argument(help="A sample's mass as cut, in g.")],
    dry: Annotated[float, typer.Argument(help="Its mass after drying at 103 C until it loses no more.")],
    date: Annotated[str | None, typer.Option(help="When it was cut; today if not said.")] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
) -> None:
    """Keep the moisture content of a sample that was weighed and dried in an oven; it needs no correction."""
    from stockyard.services.read_moisture import add_weighed

    session = session_of(context)
    kept = add_weighed(session.open_work(), board, wet, dry, taken_on=day_of(date, "--date"), note=note)
    if session.as_json:
        say_json(kept)
    else:
        say(f"{board}: {kept.raw_pct:g} % of its ovendry mass is water.")


@moisture.command("list", epilog="Example: stockyard moisture list SG-0003")
def list_(
    context: typer.Context,
    board: Annotated[str, typer.Argument(help="The board's number.")],
) -> None:
    """List a board's readings, the oldest first."""
    from stockyard.services.read_moisture import list_readings

    session = session_of(context)
    found = list_readings(session.open_work(), board)
    if session.as_json:
        say_json([plain(reading) for reading in found])
        return
    table(
        ("taken", ">shown, %", ">wood, C", ">means, %", "meter", "rule", "note"),
        (
            (
                reading.taken_on,
                f"{reading.raw_pct:g}",
                None if reading.wood_c is None else f"{reading.wood_c:g}",
                "no data" if reading.corrected_pct is None else f"{reading.corrected_pct:g}",
                reading.meter,
                reading.rule if reading.void is None else f"taken back: {reading.void}",
                reading.note,
            )
            for reading in found
        ),
    )
