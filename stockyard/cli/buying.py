"""needs, prices, recovery, reorder, panels: what to know before timber is bought."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import day_of, number_of
from stockyard.cli.session import session_of
from stockyard.cli.show import millimetres, say, say_json, table
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from decimal import Decimal


@app.command(short_help="What open jobs still need, in all.", epilog="Example: stockyard needs")
def needs(
    context: typer.Context,
    job: Annotated[str | None, typer.Argument(metavar="[JOB]", help="Only this job.")] = None,
) -> None:
    """Show the timber that panels without a plan still need, by species and thickness."""
    from stockyard.services.job_needs import job_needs

    session = session_of(context)
    found = job_needs(session.open_work(), job)
    if session.as_json:
        say_json(found)
        return
    table(
        ("species", ">mm", ">panels", ">net m3", ">to buy m3", ">metres", ">free m3", "for"),
        (
            (
                " or ".join(each.species),
                millimetres(each.rough_mm),
                len(each.panels),
                _m3(each.net_mm3),
                _m3(each.gross_mm3),
                None if each.metres is None else round(each.metres, 1),
                _m3(each.free_mm3),
                ", ".join(dict.fromkeys(panel.job for panel in each.panels)),
            )
            for each in found
        ),
    )
    for each in found:
        whose = "of your own cutting" if each.own else "of your habits of waste, nothing being cut yet"
        say(f"{' or '.join(each.species)}: recovery of {100 * each.recovery:.0f} %, {whose}.")
    if not found:
        say("Every panel of every job has a plan with boards.")


@app.command(short_help="What timber has cost.", epilog='Example: stockyard prices --species "spotted gum"')
def prices(
    context: typer.Context,
    species: Annotated[str | None, typer.Option(help="Only this species.")] = None,
    supplier: Annotated[str | None, typer.Option(help="Only from this supplier.")] = None,
) -> None:
    """Show what timber has cost, landed, delivery by delivery."""
    from stockyard.services.timber_prices import timber_prices

    session = session_of(context)
    found = timber_prices(session.open_work(), supplier=supplier, species=species)
    if session.as_json:
        say_json(found)
        return
    table(
        ("day", "supplier", "docket", "species", ">mm", ">pieces", ">m3", ">per m3"),
        (
            (
                each.received_on,
                each.supplier,
                each.docket,
                each.species,
                millimetres(each.thickness_mm),
                each.pieces,
                _m3(each.volume_mm3),
                each.per_m3,
            )
            for each in found
        ),
    )


@app.command(
    short_help="What boards gave, and what was waste.",
    epilog="Example: stockyard recovery --by supplier --by species",
)
def recovery(
    context: typer.Context,
    by: Annotated[
        list[str] | None, typer.Option(help="Group by supplier, species or job; may be repeated.")
    ] = None,
    since: Annotated[str | None, typer.Option("--from", help="From that day on.")] = None,
    until: Annotated[str | None, typer.Option("--to", help="Up to that day; today if not said.")] = None,
) -> None:
    """Show what cut boards gave: staves, offcuts and waste."""
    from stockyard.services.timber_recovery import timber_recovery

    session = session_of(context)
    groups = tuple(dict.fromkeys(by or ("species",)))
    found = timber_recovery(
        session.open_work(), groups, since=day_of(since, "--from"), until=day_of(until, "--to")
    )
    if session.as_json:
        say_json(
            [
                {
                    **dict(zip(groups, each.key, strict=True)),
                    "boards": each.boards,
                    "boards_mm3": each.boards_mm3,
                    "staves_mm3": each.staves_mm3,
                    "offcuts_mm3": each.offcuts_mm3,
                    "waste_mm3": each.waste_mm3,
                    "recovery": each.recovery,
                    "value_in": each.value_in,
                    "spoiled": each.spoiled,
                }
                for each in found
            ]
        )
        return
    table(
        (*groups, ">boards", ">cut m3", ">staves %", ">waste m3", ">spoiled"),
        (
            (
                *each.key,
                each.boards,
                _m3(each.boards_mm3),
                None if each.recovery is None else f"{100 * each.recovery:.1f}",
                _m3(each.waste_mm3),
                each.spoiled,
            )
            for each in found
        ),
    )
    say("Staves %: of the wood that did not go back on the rack.")


@app.command(
    short_help="What runs low, and from where on.",
    epilog='Example: stockyard reorder --species "spotted gum" --thickness 32 --at 20',
)
def reorder(
    context: typer.Context,
    species: Annotated[str | None, typer.Option(help="Set the point of this timber.")] = None,
    thickness: Annotated[str | None, typer.Option(metavar="MM", help="Of this thickness.")] = None,
    supply: Annotated[str | None, typer.Option(help="Set the point of this consumable.")] = None,
    at: Annotated[
        str | None, typer.Option(help="Lineal metres, or a quantity such as 500 g; 0 forgets it.")
    ] = None,
) -> None:
    """Show what has fallen below its reorder point, or set one."""
    from decimal import Decimal

    from stockyard.measures.quantity import parse_quantity, show_quantity
    from stockyard.services.reorder import list_reorder_points, set_supply_point, set_timber_point
    from stockyard.services.supplies import unit_of

    session = session_of(context)
    open_work = session.open_work()
    if at is None and (species or supply or thickness):
        raise BadInput("--at: say how much should be there at least.")
    if at is not None and (species is None) == (supply is None):
        raise BadInput("--at: say of what, with --species and --thickness or with --supply.")
    if at is not None and species is not None:
        if thickness is None:
            raise BadInput("--thickness: say how thick the boards are, in mm.")
        metres = Decimal(str(number_of(at, "--at")))
        points = set_timber_point(open_work, species, number_of(thickness, "--thickness"), metres)
    elif at is not None and supply is not None:
        points = set_supply_point(open_work, supply, parse_quantity(at, unit_of(open_work, supply), "--at"))
    else:
        points = list_reorder_points(open_work)
    if session.as_json:
        say_json([{"low": each.low, "what": each.what, "thickness_mm": each.thickness_mm, "at": each.at,
                   "there": each.there, "unit": each.unit} for each in points])  # fmt: skip
        return
    table(
        ("", "what", ">mm", ">there", ">at least"),
        (
            (
                "LOW" if each.low else "",
                each.what,
                None if each.thickness_mm is None else millimetres(each.thickness_mm),
                show_quantity(each.there, each.unit),
                show_quantity(each.at, each.unit),
            )
            for each in points
        ),
    )


@app.command(
    short_help="How many panels of a size are left.",
    epilog="Example: stockyard panels 1200x300x22 --species jarrah --staves 2-4 --stave-width 60-150",
)
def panels(
    context: typer.Context,
    size: Annotated[str, typer.Argument(metavar="LxWxT", help="The finished panel, in mm.")],
    species: Annotated[list[str], typer.Option(help="Any one of these; may be repeated.")],
    staves: Annotated[str, typer.Option(help="From how many staves to how many.")] = "1-8",
    stave_width: Annotated[str, typer.Option(metavar="MM", help="The finished width of a stave.")] = "60-150",
    show: Annotated[str, typer.Option(help="How many faces are seen: one or both.")] = "one",
    seconds: Annotated[str, typer.Option(help="How long to search.")] = "60",
) -> None:
    """Count how many panels the free stock would still make, by laying them out one after another."""
    from stockyard.services.count_panels import count_panels
    from stockyard.timber import Panel, Show

    session = session_of(context)
    length, width, thickness = _numbers(size.lower().split("x"), 3, "size")
    least, most = _numbers(staves.split("-"), 2, "--staves")
    narrow, wide = _numbers(stave_width.split("-"), 2, "--stave-width")
    if show not in ("one", "both"):
        raise BadInput(f"--show: expected one or both, found {show!r}.")
    panel = Panel(
        "panel", length, width, thickness, tuple(species), int(least), int(most), narrow, wide, Show(show)
    )
    told = count_panels(session.open_work(), panel, seconds=number_of(seconds, "--seconds"))
    if session.as_json:
        say_json({**{name: getattr(told, name) for name in ("made", "at_most", "exact", "boards", "seconds")},
                  "usable_mm3": told.usable_mm3, "by_species": dict(told.by_species)})  # fmt: skip
        return
    say(f"{told.made} of {length:g} x {width:g} x {thickness:g} mm can be made"
        + (", and no more." if told.exact else f"; {told.at_most} at the very most."))  # fmt: skip
    for name, count in told.by_species:
        say(f"  {name}: {count}")
    say(f"{told.boards} boards would be cut, for {_m3(told.usable_mm3)} m3 of panels. {told.seconds:.0f} s.")


def _numbers(parts: list[str], many: int, where: str) -> list[float]:
    if len(parts) == 1 and many == 2:
        parts = parts * 2
    if len(parts) != many:
        raise BadInput(
            f"{where}: expected {'LxWxT' if many == 3 else 'LEAST-MOST'}, found {'-'.join(parts)!r}."
        )
    return [number_of(part, where) for part in parts]


def _m3(mm3: "Decimal | int") -> str:
    return f"{float(mm3) / 1e9:.4f}"
