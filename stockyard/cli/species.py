"""species list, show, add: the figures of woods, with their sources."""

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.app import app
from stockyard.cli.read import number_of
from stockyard.cli.session import session_of
from stockyard.cli.show import say, say_json, table
from stockyard.errors import BadInput
from stockyard.measures.plain import plain

if TYPE_CHECKING:
    from stockyard.timber.species import Figure

species = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Look up woods, and add your own figures.",
    epilog='Example: stockyard species show "spotted gum"',
)
app.add_typer(species, name="species")


@species.command("list", epilog="Example: stockyard species list")
def list_(context: typer.Context) -> None:
    """List the species the yard knows."""
    from stockyard.services.keep_species import list_species
    from stockyard.timber.species import Quantity

    session = session_of(context)
    known = sorted(list_species(session.open_work()), key=lambda one: one.name)
    if session.as_json:
        say_json([plain(one) for one in known])
        return
    wanted = (Quantity.DENSITY, Quantity.MOVEMENT_RADIAL, Quantity.MOVEMENT_TANGENTIAL)
    table(
        ("species", "numbers", ">kg/m3", ">radial per 1 %", ">tangential", "more than one"),
        (
            (
                one.name,
                one.prefix,
                *(
                    None
                    if (figure := one.figure(quantity)) is None
                    else f"{figure.value:g}"
                    if quantity is Quantity.DENSITY
                    else f"{figure.value:.2%}"
                    for quantity in wanted
                ),
                ", ".join(one.conflicts()),
            )
            for one in known
        ),
    )
    say("What is empty is not known, and is never guessed.")


@species.command("show", epilog='Example: stockyard species show "spotted gum"')
def show(context: typer.Context, name: Annotated[str, typer.Argument(help="A name or alias.")]) -> None:
    """Show every figure of a species with its basis and source, the one in use first."""
    from stockyard.services.keep_species import show_species

    session = session_of(context)
    one = show_species(session.open_work(), name)
    if session.as_json:
        say_json({**plain(one), "more_than_one": [str(quantity) for quantity in one.conflicts()]})
        return
    say(one.name + (f" ({', '.join(one.botanical)})" if one.botanical else ""))
    for label, text in (
        ("grows", one.origin),
        ("called", ", ".join(one.aliases)),
        ("numbers", one.prefix),
        ("stands for", ", ".join(one.group_of)),
        ("note", one.note),
    ):
        if text:
            say(f"  {label:<11}{text}")
    sources = list(dict.fromkeys(figure.source for figure in one.figures))
    table(
        ("quantity", ">figure", "basis", "how known", ">source", "note"),
        (
            (
                figure.quantity.value,
                f"{figure.value:g}",
                figure.basis.value,
                figure.evidence.value,
                1 + sources.index(figure.source),
                figure.note,
            )
            for figure in one.figures
        ),
    )
    for place, source in enumerate(sources, start=1):
        say(f"  {place}  {source}")
    for quantity in one.conflicts():
        say(f"Sources differ on {quantity}: {_differing(one.conflicts()[quantity])}; the first is used.")


@species.command(
    "add",
    short_help="Add a species, or your own figures of one.",
    epilog='Example: stockyard species add "spotted gum" --figure "movement tangential=0.0039" --source ours',
)
def add(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="Its common name.")],
    figure: Annotated[
        list[str] | None,
        typer.Option(
            metavar="QUANTITY=VALUE",
            help="density (kg/m3), hardness (kN), shrinkage radial or tangential (%), movement radial or"
            " tangential (share for each 1 %); may be repeated.",
        ),
    ] = None,
    source: Annotated[str, typer.Option(help="Where the figures come from.")] = "",
    basis: Annotated[
        str | None, typer.Option(help='Of shrinkage: "green to 12 %" or "green to ovendry".')
    ] = None,
    botanical: Annotated[str, typer.Option(help="Its botanical name.")] = "",
    prefix: Annotated[str, typer.Option(help="Of its boards' numbers, such as SG.")] = "",
    alias: Annotated[list[str] | None, typer.Option(help="Another name; may be repeated.")] = None,
    note: Annotated[str, typer.Option(help="Anything worth remembering.")] = "",
) -> None:
    """Add a species, or lay your own figures over a known one; the published ones stay in sight."""
    from stockyard.services.keep_species import keep_species, own_figure

    figures = []
    for pair in figure or ():
        quantity, equals, value = pair.partition("=")
        if not equals:
            raise BadInput(f"--figure: expected QUANTITY=VALUE, found {pair!r}.")
        figures.append(
            own_figure(quantity.strip(), number_of(value, f"--figure {quantity.strip()}"), source, basis)
        )
    session = session_of(context)
    kept = keep_species(
        session.open_work(),
        name,
        figures=tuple(figures),
        botanical=botanical,
        prefix=prefix,
        aliases=tuple(alias or ()),
        note=note,
    )
    if session.as_json:
        say_json(plain(kept))
    else:
        say(f"{kept.name} is kept; its boards are numbered {kept.prefix}-0001 and so on.")


def _differing(figures: "tuple[Figure, ...]") -> str:
    return " and ".join(f"{figure.value:g} ({figure.basis.value})" for figure in figures)
