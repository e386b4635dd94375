"""ready, movement: may a board be used today, and what will a panel do where it goes."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.plans import PlanArgument
from stockyard.cli.read import air_of, day_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.moisture.drying import DryingCurve
    from stockyard.services.foresee_movement import MovementSheet, PanelForesight
    from stockyard.services.judge_ready import JudgedBoard, ReadySheet

_AIR = "C/%"


@app.command(
    short_help="Say which boards may be used today, and when the others may.",
    epilog='Example: stockyard ready SG-0004 --to "hall at Quandong Siding"',
)
def ready(
    context: typer.Context,
    boards: Annotated[
        list[str] | None,
        typer.Argument(metavar="[BOARD]...", help="These boards, in detail; all on hand if none."),
    ] = None,
    to: Annotated[str | None, typer.Option(metavar="PLACE", help="The logged place a piece goes to.")] = None,
    to_air: Annotated[
        str | None, typer.Option(metavar=_AIR, help="Its air by hand: degrees C and percent, such as 22/45.")
    ] = None,
    shop_air: Annotated[
        str | None, typer.Option(metavar=_AIR, help="The shop's air by hand, where it is not logged.")
    ] = None,
    job: Annotated[str | None, typer.Option(help="The job whose moisture limits bind.")] = None,
    as_of: Annotated[str | None, typer.Option(help="As it stood on the evening of this day.")] = None,
) -> None:
    """Judge boards by their corrected readings, the shop's air and the air of the place a piece goes to.

    Where readings allow it a drying curve is fitted, and the day it brings the board within reach is given
    with the band around it. Moisture corrections and curves are aids; weigh a sample where it matters.
    """
    from stockyard.services.judge_ready import judge_ready

    session = session_of(context)
    sheet = judge_ready(
        session.open_work(),
        tuple(boards or ()),
        to=to,
        to_air=air_of(to_air, "--to-air"),
        at_shop=air_of(shop_air, "--shop-air"),
        job=job,
        on=day_of(as_of, "--as-of"),
    )
    if session.as_json:
        say_json(_ready_json(sheet))
        return
    for air in dict.fromkeys((sheet.shop, sheet.destination)):
        say(f"{air.place}: its air holds wood at {air.emc_pct:.1f} % ({air.said})")
    for note in sheet.notes:
        say(note)
    if boards:
        for judged in sheet.boards:
            _print_board(judged, sheet)
    else:
        _print_rack(sheet)


@app.command(
    short_help="Say what a plan's panels will do over the year.",
    epilog='Example: stockyard movement 1 --to "hall at Quandong Siding"',
)
def movement(
    context: typer.Context,
    number: PlanArgument,
    to: Annotated[
        str | None, typer.Option(metavar="PLACE", help="The logged place the panels go to.")
    ] = None,
    dry: Annotated[str | None, typer.Option(metavar=_AIR, help="Its driest air by hand, as 22/35.")] = None,
    damp: Annotated[str | None, typer.Option(metavar=_AIR, help="Its dampest air by hand, as 24/65.")] = None,
    shank: Annotated[float, typer.Option(min=0, max=30, help="Diameter of the fixings, in mm.")] = 5.0,
) -> None:
    """Say how far apart a panel's staves are, and what its width will do over the year where it goes.

    Each stave moves by its species and by how it was sawn (`stockyard board ID --correct sawn=quarter`);
    where that is not known both answers are given.
    """
    from stockyard.services.foresee_movement import foresee_movement

    session = session_of(context)
    sheet = foresee_movement(
        session.open_work(),
        number,
        to=to,
        dry=air_of(dry, "--dry"),
        damp=air_of(damp, "--damp"),
        shank_mm=shank,
    )
    if session.as_json:
        say_json(
            {
                "plan": sheet.plan.number,
                "destination": plain(sheet.destination),
                "rule": plain(sheet.rule),
                "panels": [plain(panel) for panel in sheet.panels],
                "not_made": list(sheet.not_made),
            }
        )
        return
    _print_movement(sheet)


def _ready_json(sheet: "ReadySheet") -> dict[str, object]:
    return {
        "today": plain(sheet.today),
        "shop": plain(sheet.shop),
        "destination": plain(sheet.destination),
        "rule": plain(sheet.rule),
        "boards": [
            {
                "id": judged.piece.number,
                "species": judged.piece.species,
                **plain(judged.readiness),
                "today_band": _band_json(judged.readiness.curve, sheet),
                "readings": plain(judged.readings),
            }
            for judged in sheet.boards
        ],
        "notes": list(sheet.notes),
    }


def _band_json(curve: "DryingCurve | None", sheet: "ReadySheet") -> dict[str, float] | None:
    if curve is None:
        return None
    low, high = curve.between(sheet.today)
    return {"percent": curve.at(sheet.today), "low": low, "high": high}


def _print_rack(sheet: "ReadySheet") -> None:
    table(
        ("board", ">MC, %", "read", "ready", "ready on", "latest", "why not"),
        (
            (
                judged.piece.number,
                "no data" if judged.readiness.percent is None else f"{judged.readiness.percent:.1f}",
                judged.newest.taken_on if judged.newest else None,
                "yes" if judged.readiness.ready else "no",
                judged.readiness.ready_on,
                judged.readiness.latest,
                " ".join(judged.readiness.why_not),
            )
            for judged in sheet.boards
        ),
    )
    count = sum(judged.readiness.ready for judged in sheet.boards)
    say(f"{count} of {len(sheet.boards)} may be used today")


def _print_board(judged: "JudgedBoard", sheet: "ReadySheet") -> None:
    found = judged.readiness
    say()
    say(f"{judged.piece.number}, {judged.piece.species}: {'ready' if found.ready else 'not ready'}")
    newest = judged.newest
    lines = [
        (
            "moisture",
            "no data" if newest is None else f"{newest.corrected_pct:.1f} % on {newest.taken_on}",
        ),
        ("wanted", f"{found.low_pct:.1f} to {found.high_pct:.1f} %"),
        *(("why not", why) for why in found.why_not),
    ]
    if found.ready_on is not None:
        band = f"{found.earliest or 'unknown'} to {found.latest or 'unknown'}"
        lines.append(("ready on", f"{found.ready_on}, likely {band}"))
    curve = found.curve
    if curve is not None:
        low, high = curve.between(sheet.today)
        lines.append(
            (
                "curve",
                f"through {curve.readings} readings; half of what is left goes in"
                f" {curve.half_life_days:.0f} days; today about {curve.at(sheet.today):.1f} %"
                f" ({low:.1f} to {high:.1f})",
            )
        )
    if found.note:
        lines.append(("note", found.note))
    for name, text in lines:
        say(f"  {name:<10}{text}")
    if judged.readings:
        table(
            ("taken", ">shown, %", ">wood, C", ">means, %", "rule"),
            (
                (
                    reading.taken_on,
                    f"{reading.raw_pct:g}",
                    None if reading.wood_c is None else f"{reading.wood_c:g}",
                    "no data" if reading.corrected_pct is None else f"{reading.corrected_pct:g}",
                    reading.rule,
                )
                for reading in judged.readings
            ),
        )


def _print_movement(sheet: "MovementSheet") -> None:
    span = sheet.destination.span
    say(f"Plan {sheet.plan.number} for {sheet.plan.job}, going to {sheet.destination.place}")
    say(f"Its air holds wood at {span.low_pct:.1f} to {span.high_pct:.1f} % ({sheet.destination.said}).")
    if span.note:
        say(span.note)
    for panel in sheet.panels:
        _print_panel(panel)
    for name in sheet.not_made:
        say(f"Panel {name}: not made by this plan.")


def _print_panel(panel: "PanelForesight") -> None:
    most, least, glued = panel.most, panel.least, panel.glued
    say()
    verdict = "may be glued" if glued.ready else "not to be glued yet"
    say(f"Panel {panel.panel}, {most.width_mm:g} mm wide: {verdict}")
    if glued.spread_pct is not None:
        say(f"  staves    {glued.spread_pct:.1f} points apart; {_points(glued.from_destination_pct)}")
    for why in glued.why_not:
        say(f"  why not   {why}")
    table(
        ("stave of", ">per 1 %", ">at driest, mm", ">at dampest, mm", "by"),
        (
            (
                stave.board,
                f"{stave.rate.per_pct:.2%}",
                f"{stave.driest_mm:+.1f}",
                f"{stave.dampest_mm:+.1f}",
                stave.rate.basis,
            )
            for stave in most.staves
        ),
    )
    swing = f"{most.swing_mm:.1f} mm"
    if least is not None:
        swing = f"{least.swing_mm:.1f} mm if those not known are quartersawn, {most.swing_mm:.1f} if backsawn"
    say(f"  moves     {most.driest_mm:+.1f} to {most.dampest_mm:+.1f} mm against its width when glued")
    if f"{most.swing_low_mm:.1f}" != f"{most.swing_high_mm:.1f}":
        swing += f"; sources give {most.swing_low_mm:.1f} to {most.swing_high_mm:.1f} mm"
    say(f"  over      the year {swing}")
    say(
        f"  leave     {most.clearance_each_side_mm:g} mm free at each edge, or slots"
        f" {most.slot_mm:g} mm long at the edges, the middle held"
    )
    if panel.unknown:
        say(
            f"  sawn      not known of {', '.join(panel.unknown)}: taken as backsawn for the room to leave."
            " Say it with `stockyard board ID --correct sawn=quarter`."
        )
    for note in dict.fromkeys(most.notes):
        if "How it was sawn is not known" not in note:
            say(f"  note      {note}")


def _points(difference: float | None) -> str:
    if difference is None:
        return "their moisture is not known"
    side = "above" if difference > 0 else "below"
    return f"furthest {abs(difference):.1f} {side} the destination"
