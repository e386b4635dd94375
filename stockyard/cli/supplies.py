"""supply add, buy, use, count, list, show: glue, screws and finish, and what they cost."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import amount_of, because_option, day_of
from stockyard.cli.session import Session, session_of
from stockyard.cli.show import say, say_json, table

if TYPE_CHECKING:
    from decimal import Decimal

    from stockyard.services.supplies import ShelvedSupply

supplies = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Keep the consumables: glue, screws, finish.",
    epilog="Example: stockyard supply list",
)
app.add_typer(supplies, name="supply")

NameArgument = Annotated[str, typer.Argument(metavar="NAME", help="The consumable, as it was added.")]
AmountArgument = Annotated[
    str, typer.Argument(metavar="QUANTITY", help="How much, such as 500 g, 2 kg, 750 mL or 200.")
]
DateOption = Annotated[str | None, typer.Option(help="When; today if not said.")]


@supplies.command("add", epilog='Example: stockyard supply add "PVA glue" --kind glue --unit g')
def add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What its label says.")],
    kind: Annotated[
        str,
        typer.Option(help="glue, cyanoacrylate, epoxy, finish, fastener, abrasive or other."),
    ],
    unit: Annotated[str, typer.Option(help="What it is counted in: g, mL or each.")],
    note: Annotated[str, typer.Option(help="Anything else to know of it.")] = "",
) -> None:
    """Keep a consumable by name."""
    from stockyard.services.supplies import add_supply

    session = session_of(context)
    kept = add_supply(session.open_work(), name, kind=kind, unit=unit, note=note)
    if session.as_json:
        say_json(kept)
    else:
        say(f"{kept.name} is kept, counted in {kept.unit.value}.")


@supplies.command("buy", epilog='Example: stockyard supply buy "PVA glue" 4kg --cost 58 --from "Brolga"')
def buy(
    context: typer.Context,
    name: NameArgument,
    quantity: AmountArgument,
    cost: Annotated[
        str, typer.Option(metavar="AMOUNT", help="All of it, freight in, without tax you get back.")
    ],
    supplier: Annotated[str, typer.Option("--from", help="Who it was bought from.")],
    docket: Annotated[str, typer.Option(help="The docket's or invoice's number.")] = "",
    date: DateOption = None,
) -> None:
    """Put what was bought on the shelf at what it cost."""
    from stockyard.services.supplies import buy_supply

    session = session_of(context)
    open_work = session.open_work()
    told = buy_supply(
        open_work,
        name,
        _quantity(session, name, quantity),
        cost=amount_of(cost, "--cost"),
        supplier=supplier,
        docket=docket,
        day=day_of(date, "--date"),
    )
    _say(session, told)


@supplies.command("use", epilog='Example: stockyard supply use "PVA glue" 250g --job hall-bench')
def use(
    context: typer.Context,
    name: NameArgument,
    quantity: AmountArgument,
    job: Annotated[str, typer.Option(help="The job that bears it.")],
    date: DateOption = None,
    note: Annotated[str, typer.Option(help="What for.")] = "",
) -> None:
    """Let a job bear what it used, at the weighted average of what is on the shelf."""
    from stockyard.services.supplies import use_supply

    session = session_of(context)
    told = use_supply(
        session.open_work(),
        name,
        _quantity(session, name, quantity),
        job=job,
        day=day_of(date, "--date"),
        note=note,
    )
    _say(session, told)


@supplies.command("count", epilog='Example: stockyard supply count "PVA glue" 3.5kg --because "dried up"')
def count(
    context: typer.Context, name: NameArgument, quantity: AmountArgument, because: because_option = ""
) -> None:
    """Say how much there really is: less is a loss at average cost, more is never a gain."""
    from stockyard.services.supplies import count_supply

    session = session_of(context)
    told = count_supply(session.open_work(), name, _quantity(session, name, quantity), reason=because)
    _say(session, told)


@supplies.command("list", epilog="Example: stockyard supply list --as-of 2026-06-30")
def list_(
    context: typer.Context,
    as_of: Annotated[str | None, typer.Option(help="On the evening of that day; today if not said.")] = None,
) -> None:
    """List the consumables: how much there is of each, and what it stands for."""
    from stockyard.services.supplies import list_supplies

    session = session_of(context)
    found = list_supplies(session.open_work(), day_of(as_of, "--as-of"))
    if session.as_json:
        say_json([_json(each) for each in found])
        return
    table(
        ("consumable", "kind", ">on the shelf", ">worth", ">average for one"),
        (
            (
                each.supply.name,
                each.supply.kind.value,
                _shown(each.shelf.quantity, each.supply.unit.value),
                each.shelf.value,
                each.shelf.average,
            )
            for each in found
        ),
    )


@supplies.command("show", epilog='Example: stockyard supply show "PVA glue"')
def show(context: typer.Context, name: NameArgument) -> None:
    """Show everything that happened to a consumable."""
    from stockyard.services.supplies import show_supply

    session = session_of(context)
    told, events = show_supply(session.open_work(), name)
    if session.as_json:
        say_json({**_json(told), "events": events})
        return
    unit = told.supply.unit.value
    table(
        ("no.", "day", "what", ">quantity", ">value", ">left", "job or cause"),
        (
            (
                each.movement,
                each.day,
                each.kind.value,
                _shown(each.quantity, unit),
                each.value,
                _shown(each.left.quantity, unit),
                each.job or each.cause,
            )
            for each in events
        ),
        title=told.supply.name,
    )
    _say(session, told)


def _quantity(session: Session, name: str, text: str) -> "Decimal":
    from stockyard.measures.quantity import parse_quantity
    from stockyard.services.supplies import unit_of

    return parse_quantity(text, unit_of(session.open_work(), name))


def _shown(quantity: "Decimal", unit: str) -> str:
    from stockyard.measures.quantity import show_quantity

    return show_quantity(quantity, unit)


def _json(told: "ShelvedSupply") -> dict[str, object]:
    return {
        "name": told.supply.name,
        "kind": told.supply.kind.value,
        "unit": told.supply.unit.value,
        "quantity": told.shelf.quantity,
        "worth": told.shelf.value,
        "average": told.shelf.average,
        "currency": told.currency,
    }


def _say(session: Session, told: "ShelvedSupply") -> None:
    if session.as_json:
        say_json(_json(told))
        return
    left = _shown(told.shelf.quantity, told.supply.unit.value)
    say(f"{told.supply.name}: {left} on the shelf, worth {told.shelf.value:,} {told.currency}.")
